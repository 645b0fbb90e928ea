// Which nodes are joined electrically.
#pragma once

#include <algorithm>
#include <cstddef>
#include <vector>

#include "sim/network.h"

namespace drybus::sim {

/// Groups that links join, smallest member first (union by smallest, path halving).
class NodeGroups {
 public:
  explicit NodeGroups(std::size_t count) : parent_(count) {
    for (std::size_t i = 0; i < count; ++i) parent_[i] = static_cast<NodeId>(i);
  }
  NodeId of(NodeId node) {
    while (parent_[node] != node) node = parent_[node] = parent_[parent_[node]];
    return node;
  }
  void join(NodeId a, NodeId b) {
    a = of(a);
    b = of(b);
    parent_[std::max(a, b)] = std::min(a, b);
  }

 private:
  std::vector<NodeId> parent_;
};

}  // namespace drybus::sim
