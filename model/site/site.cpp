#include "model/site/site.h"

#include <algorithm>

#include "sim/digest.h"

namespace drybus::model {

const std::string& Site::title(DeviceId device) const {
  const std::string& label = is_plate(device) ? plates[device].label : modules[module_index(device)].label;
  return label.empty() ? name(device) : label;
}

std::string Site::node_name(sim::NodeId node) const {
  return node < device_count() ? name(node) : junctions[node - device_count()];
}

std::string Site::link_name(std::uint32_t link) const {
  return node_name(network.links[link].a) + "-" + node_name(network.links[link].b);
}

std::optional<DeviceId> Site::find_device(std::string_view wanted) const {
  for (std::size_t i = 0; i < device_count(); ++i) {
    if (name(static_cast<DeviceId>(i)) == wanted) return static_cast<DeviceId>(i);
  }
  return std::nullopt;
}

std::optional<std::uint32_t> Site::find_link(std::string_view wanted) const {
  for (std::uint32_t i = 0; i < network.links.size(); ++i) {
    const auto& [a, b] = network.links[i];
    if (wanted == node_name(a) + "-" + node_name(b) || wanted == node_name(b) + "-" + node_name(a)) return i;
  }
  return std::nullopt;
}

std::vector<sim::Duration> shortest_walks(std::size_t places, const std::vector<WalkLeg>& legs,
                                          sim::Duration otherwise) {
  const sim::Duration no_way = sim::Duration::max() / 4;
  std::vector<sim::Duration> walks(places * places, no_way);
  for (std::size_t i = 0; i < places; ++i) walks[i * places + i] = sim::Duration::zero();
  for (const WalkLeg& leg : legs) {
    for (const auto& [from, to] : {std::pair{leg.a, leg.b}, std::pair{leg.b, leg.a}}) {
      walks[from * places + to] = std::min(walks[from * places + to], leg.time);
    }
  }
  // Floyd and Warshall.
  for (std::size_t via = 0; via < places; ++via) {
    for (std::size_t a = 0; a < places; ++a) {
      for (std::size_t b = 0; b < places; ++b) {
        walks[a * places + b] =
            std::min(walks[a * places + b], walks[a * places + via] + walks[via * places + b]);
      }
    }
  }
  std::replace_if(
      walks.begin(), walks.end(), [no_way](sim::Duration d) { return d >= no_way; }, otherwise);
  return walks;
}

void build_network(Site& site, std::vector<sim::MediumSpec> media) {
  std::vector<std::uint32_t> owners;
  std::vector<bool> passive;
  for (std::size_t i = 0; i < site.device_count() + site.junctions.size(); ++i) {
    owners.push_back(sim::stable_name(site.node_name(static_cast<sim::NodeId>(i))));
    passive.push_back(i >= site.device_count());
  }
  // Devices that no medium names hear nothing: each has a medium to itself.
  std::vector<bool> wired(owners.size(), false);
  for (const sim::MediumSpec& medium : media) {
    for (const sim::NodeId node : medium.nodes) wired[node] = true;
  }
  for (std::size_t i = 0; i < wired.size(); ++i) {
    if (wired[i]) continue;
    media.push_back({sim::MediumKind::line, site.family.bus, {static_cast<sim::NodeId>(i)}, {}});
  }
  site.network = sim::make_network(std::move(media), owners, passive);
}

}  // namespace drybus::model
