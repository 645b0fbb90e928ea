#include "model/recovery/ways_into_setup.h"

#include "model/planning/cover_work.h"
#include "model/planning/route.h"
#include "model/recovery/search.h"

namespace drybus::model {

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
  Step walk;
  walk.kind = StepKind::walk;
  walk.place = site.place(module);
  steps.push_back(walk);
  const SupplyGesture& gesture = site.module_family(module).supply_gesture;
  steps.push_back(wait_step(gesture.on_for + hold_margin));
  for (std::uint8_t i = 0; i < 2 * gesture.times; ++i) {
    Step supply;
    supply.kind = StepKind::power;
    supply.device = module;
    supply.on = i % 2 != 0;
    steps.push_back(supply);
  }
}

sim::Duration CureRules::way_takes(DeviceId device) const {
  if (site().is_plate(device)) return site().setup_hold(device);
  const SupplyGesture& gesture = site().module_family(device).supply_gesture;
  // What was counted before is forgotten first; then off and on, so many times, with a moment between.
  if (gesture.times != 0) return gesture.on_for + hold_margin + times().pause * (2 * gesture.times + 1);
  return site().setup_hold(device);
}

bool CureRules::be_answered(Situation& situation, DeviceId module) const {
  const std::size_t index = site().module_index(module);
  bool answered = false;
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    Belief& belief = situation.devices[plate];
    if (hears_[plate][index] == 0 || belief.standing == Standing::normal) continue;
    const auto set_to = setting(situation, plate);
    const bool fits = belief.standing == Standing::setup && set_to && belief.channel == stand_for(module) &&
                      Address{set_to->site, set_to->zone, channel_of(module)} == aim_.addresses[index];
    if (answered || !fits || situation.devices[module].deaf != 0) return false;
    ++belief.channel;
    take(situation.devices[module], index, *aim_.addresses[index]);
    answered = true;
  }
  return answered;
}

}  // namespace drybus::model
