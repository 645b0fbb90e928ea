#include "tools/export/buses.h"

#include <fmt/format.h>

#include <algorithm>

namespace drybus::tools {

std::vector<Bus> buses_of(const model::Site& site) {
  std::vector<Bus> buses;
  for (std::size_t medium = 0; medium < site.network.media.size(); ++medium) {
    const std::vector<sim::NodeId>& nodes = site.network.media[medium].nodes;
    const bool plate =
        std::any_of(nodes.begin(), nodes.end(), [&](sim::NodeId node) { return site.is_plate(node); });
    if (plate || nodes.size() > 1) buses.push_back({static_cast<std::uint32_t>(medium), "bus"});
  }
  if (buses.size() < 2) return buses;
  for (std::size_t i = 0; i < buses.size(); ++i) buses[i].name = fmt::format("bus{}", i + 1);
  return buses;
}

}  // namespace drybus::tools
