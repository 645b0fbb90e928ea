#include "model/people/setup_steps.h"

namespace drybus::model {

namespace {

/// Longer than the supply counts as briefly on, to be sure that what was counted is forgotten.
constexpr sim::Duration counted_margin = std::chrono::milliseconds{200};

}  // namespace

Step wait_step(sim::Duration duration) {
  Step step;
  step.kind = StepKind::wait;
  step.duration = duration;
  return step;
}

std::uint8_t first_channel(const PlateFamily& family) {
  for (const MachineState& state : family.machine.states) {
    for (const Action& action : state.entry) {
      if (action.verb == Verb::start_at_channel) return action.argument;
    }
  }
  return 0;
}

bool by_supply(const Site& site, DeviceId device) {
  return !site.is_plate(device) && site.module_family(device).supply_gesture.times != 0;
}

void add_supply_steps(const Site& site, DeviceId module, std::vector<Step>& steps) {
  if (site.places.size() > 1 && site.place(module) != no_place) {
    Step walk;
    walk.kind = StepKind::walk;
    walk.place = site.place(module);
    steps.push_back(walk);
  }
  const SupplyGesture& gesture = site.module_family(module).supply_gesture;
  steps.push_back(wait_step(gesture.on_for + counted_margin));
  for (std::uint8_t i = 0; i < 2 * gesture.times; ++i) {
    Step supply;
    supply.kind = StepKind::power;
    supply.device = module;
    supply.on = i % 2 != 0;
    steps.push_back(supply);
  }
}

void add_setup_steps(const Site& site, DeviceId module, sim::Duration longer, std::vector<Step>& steps) {
  if (by_supply(site, module)) return add_supply_steps(site, module, steps);
  steps.push_back(
      push_step(StepKind::hold, module, site.setup_gesture(module), site.setup_hold(module) + longer));
}

bool asks(const Site& site, DeviceId module) {
  return site.module_family(module).ask > sim::Duration::zero();
}

sim::Duration confirmed_within(const Site& site, DeviceId module) {
  return site.module_family(module).confirm;
}

}  // namespace drybus::model
