// Ways into setup and to an address other than a hold and an offer, as the rules of a cure know them.
#include "model/planning/ways_into_setup.h"

#include "model/planning/route.h"
#include "model/recovery/search.h"

namespace drybus::model {

sim::Duration CureRules::way_takes(DeviceId device) const {
  if (site().is_plate(device)) return site().setup_hold(device);
  const SupplyGesture& gesture = site().module_family(device).supply_gesture;
  // What was counted before is forgotten first; then off and on, so many times, with a moment between.
  if (gesture.times != 0) return gesture.on_for + hold_margin + times().pause * (2 * gesture.times + 1);
  return site().setup_hold(device);
}

/// Whoever else may be in setup would take the answer as well.
bool CureRules::others_listen_to(const Situation& situation, DeviceId plate, std::size_t but) const {
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    const Belief& other = situation.devices[site().module_id(i)];
    if (i != but && hears_[plate][i] != 0 && other.standing != Standing::normal) return true;
  }
  return false;
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
    if (others_listen_to(situation, plate, index)) return false;
    ++belief.channel;
    take(situation.devices[module], index, *aim_.addresses[index]);
    answered = true;
  }
  return answered;
}

}  // namespace drybus::model
