#include "sim/network.h"

#include <utility>

#include "sim/node_groups.h"

namespace drybus::sim {

Network make_network(std::vector<MediumSpec> media, std::span<const std::uint32_t> owners,
                     const std::vector<bool>& passive) {
  Network network;
  network.nodes.resize(owners.size());
  for (std::size_t i = 0; i < owners.size(); ++i) {
    network.nodes[i].owner = owners[i];
    network.nodes[i].passive = passive[i];
  }
  NodeGroups groups{owners.size()};
  for (std::size_t m = 0; m < media.size(); ++m) {
    for (const NodeId node : media[m].nodes) network.nodes[node].medium = static_cast<std::uint32_t>(m);
    for (const Link& link : media[m].links) {
      const auto index = static_cast<std::uint32_t>(network.links.size());
      network.nodes[link.a].links.push_back(index);
      network.nodes[link.b].links.push_back(index);
      network.links.push_back(link);
      groups.join(link.a, link.b);
    }
  }
  for (std::size_t i = 0; i < owners.size(); ++i)
    network.nodes[i].component = groups.of(static_cast<NodeId>(i));
  network.media = std::move(media);
  return network;
}

}  // namespace drybus::sim
