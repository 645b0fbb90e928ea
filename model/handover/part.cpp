#include "model/handover/part.h"

#include <algorithm>
#include <set>

namespace drybus::model {

namespace {

/// Links by node, from which nodes can be taken one by one.
class Wiring {
 public:
  explicit Wiring(const sim::MediumSpec& medium)
      : radio_(medium.kind == sim::MediumKind::radio), links_(medium.links) {}

  void remove(sim::NodeId gone) {
    std::vector<sim::NodeId> ends;
    std::erase_if(links_, [&](const sim::Link& link) {
      if (link.a != gone && link.b != gone) return false;
      ends.push_back(link.a == gone ? link.b : link.a);
      return true;
    });
    if (radio_) return;
    for (std::size_t i = 1; i < ends.size(); ++i) links_.push_back({ends[0], ends[i]});
  }

  [[nodiscard]] const std::vector<sim::Link>& links() const { return links_; }

 private:
  bool radio_;
  std::vector<sim::Link> links_;
};

}  // namespace

SitePart part_of(const Site& whole, const std::vector<DeviceId>& devices) {
  const std::set<DeviceId> wanted(devices.begin(), devices.end());
  SitePart part;
  part.site.family = whole.family;
  part.site.other_families = whole.other_families;
  part.site.places = whole.places;
  part.site.walks = whole.walks;
  part.site.logic = whole.logic;
  std::vector<sim::NodeId> number(whole.network.nodes.size(), sim::no_node);
  for (const DeviceId id : wanted) {
    number[id] = static_cast<sim::NodeId>(part.of_whole.size());
    part.of_whole.push_back(id);
    if (whole.is_plate(id)) {
      part.site.plates.push_back(whole.plates[id]);
    } else {
      part.site.modules.push_back(whole.modules[whole.module_index(id)]);
    }
  }
  std::vector<sim::MediumSpec> media;
  for (const sim::MediumSpec& medium : whole.network.media) {
    sim::MediumSpec rest{medium.kind, medium.timing, {}, {}};
    Wiring wiring{medium};
    for (const sim::NodeId node : medium.nodes) {
      if (number[node] == sim::no_node) {
        wiring.remove(node);
      } else {
        rest.nodes.push_back(number[node]);
      }
    }
    if (rest.nodes.empty()) continue;
    for (const sim::Link& link : wiring.links()) rest.links.push_back({number[link.a], number[link.b]});
    std::sort(rest.nodes.begin(), rest.nodes.end());
    media.push_back(std::move(rest));
  }
  build_network(part.site, std::move(media));
  return part;
}

}  // namespace drybus::model
