// A scenario without one of its devices: the wiring closes where it was, and steps name the others by their new numbers.
#include <algorithm>
#include <utility>

#include "model/hunt/shrink.h"

namespace drybus::model {

namespace {

bool is_of_a_link(FaultKind kind) {
  switch (kind) {
    case FaultKind::open:
    case FaultKind::shorted:
    case FaultKind::noisy:
    case FaultKind::mend:
      return true;
    case FaultKind::stuck:
    case FaultKind::freed:
    case FaultKind::deaf:
    case FaultKind::dead_load:
    case FaultKind::new_load:
      return false;
  }
  return false;
}

bool refers_to(const Site& site, const Step& step, DeviceId device) {
  if (step.kind != StepKind::fault) return step.device == device;
  if (!is_of_a_link(step.fault.kind)) return step.fault.device == device;
  const sim::Link& link = site.network.links[step.fault.link];
  return link.a == device || link.b == device;
}

bool is_referred_to(const Scenario& scenario, DeviceId device) {
  for (const Person& person : scenario.people) {
    for (const Step& step : person.script) {
      if (refers_to(scenario.site, step, device)) return true;
      for (const std::uint32_t check : step.checks) {
        if (scenario.checks[check].device == device) return true;
      }
    }
  }
  return false;
}

/// The media of a site from which one node was taken.
class Rewiring {
 public:
  explicit Rewiring(DeviceId gone) : gone_(gone) {}

  /// Nothing when branches meet at the node.
  [[nodiscard]] std::optional<sim::MediumSpec> of(const sim::MediumSpec& medium) const {
    sim::MediumSpec rest{medium.kind, medium.timing, {}, {}};
    for (const sim::NodeId node : medium.nodes) {
      if (node != gone_) rest.nodes.push_back(renumbered(node));
    }
    std::vector<sim::NodeId> ends;  // what was joined to the node
    auto joint = rest.links.size();
    for (const sim::Link& link : medium.links) {
      if (link.a != gone_ && link.b != gone_) {
        rest.links.push_back(renumbered(link));
        continue;
      }
      if (ends.empty()) joint = rest.links.size();
      ends.push_back(renumbered(link.a == gone_ ? link.b : link.a));
    }
    if (medium.kind == sim::MediumKind::radio || ends.size() < 2) return rest;
    if (ends.size() > 2) return std::nullopt;
    rest.links.insert(rest.links.begin() + static_cast<std::ptrdiff_t>(joint), {ends[0], ends[1]});
    return rest;
  }

  [[nodiscard]] sim::NodeId renumbered(sim::NodeId node) const {
    return node == no_device || node < gone_ ? node : static_cast<sim::NodeId>(node - 1);
  }
  [[nodiscard]] sim::Link renumbered(const sim::Link& link) const {
    return {renumbered(link.a), renumbered(link.b)};
  }

 private:
  DeviceId gone_;
};

/// A step in terms of the new site; its link is none of those that met at the node.
void renumber(const Rewiring& rewiring, const Site& before, const Site& after, Step& step) {
  step.device = rewiring.renumbered(step.device);
  step.fault.device = rewiring.renumbered(step.fault.device);
  if (step.kind != StepKind::fault || !is_of_a_link(step.fault.kind)) return;
  const auto& links = after.network.links;
  const auto link =
      std::find(links.begin(), links.end(), rewiring.renumbered(before.network.links[step.fault.link]));
  step.fault.link = static_cast<std::uint32_t>(link - links.begin());
}

}  // namespace

std::optional<Scenario> without_device(const Scenario& scenario, DeviceId device) {
  if (is_referred_to(scenario, device)) return std::nullopt;
  const Rewiring rewiring{device};
  std::vector<sim::MediumSpec> media;
  for (const sim::MediumSpec& medium : scenario.site.network.media) {
    auto rest = rewiring.of(medium);
    if (!rest) return std::nullopt;
    if (!rest->nodes.empty()) media.push_back(std::move(*rest));
  }
  Scenario rest = scenario;
  if (rest.site.is_plate(device)) {
    rest.site.plates.erase(rest.site.plates.begin() + device);
  } else {
    rest.site.modules.erase(rest.site.modules.begin() +
                            static_cast<std::ptrdiff_t>(scenario.site.module_index(device)));
  }
  rest.site.cables.clear();  // their lengths go by links that may be gone
  build_network(rest.site, std::move(media));
  for (Check& check : rest.checks) check.device = rewiring.renumbered(check.device);
  for (Person& person : rest.people) {
    for (Step& step : person.script) renumber(rewiring, scenario.site, rest.site, step);
  }
  return rest;
}

}  // namespace drybus::model
