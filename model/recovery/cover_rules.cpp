// The rules of a cure for work with covers off: when the supply may be isolated, and what is done then.
#include <algorithm>

#include "model/planning/cover_work.h"
#include "model/recovery/search.h"

namespace drybus::model {

namespace {

using Kind = CureAction::Kind;

}  // namespace

bool CureRules::isolate(Situation& situation) const {
  if (situation.isolated || (situation.setup_begun && !two_numbers_)) return false;
  const bool in_hand = std::any_of(situation.devices.begin(), situation.devices.end(),
                                   [](const Belief& belief) { return belief.put_in_setup != 0; });
  if (in_hand) return false;
  for (DeviceId device = 0; device < situation.devices.size(); ++device) {
    if (!own(device)) continue;
    Belief& belief = situation.devices[device];
    belief.standing = Standing::normal;
    belief.channel = 0;
    belief.deaf = 0;
  }
  situation.isolated = true;
  pass(situation, situation.now + times().pause + isolating_takes);
  return true;
}

bool CureRules::restore(Situation& situation) const {
  if (!situation.isolated || !may_restore(situation)) return false;
  situation.isolated = false;
  pass(situation, situation.now + times().pause + restoring_takes);
  return true;
}

/// Every plate is set; to another number than its own only while somebody has to take that.
bool CureRules::may_restore(const Situation& situation) const {
  bool other_wanted = false;
  for (std::size_t i = 0; i < site().modules.size(); ++i)
    other_wanted = other_wanted || wants_other_site(situation, site().module_id(i));
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    if (!own(plate)) continue;
    const std::uint8_t setting = situation.devices[plate].setting;
    if (setting == 0 || (setting == 2 && !other_wanted)) return false;
  }
  return true;
}

void CureRules::add_useful_isolated(const Situation& situation, std::vector<CureAction>& actions) const {
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    if (!own(plate)) continue;
    const std::uint8_t setting = situation.devices[plate].setting;
    if (setting != 1) actions.push_back({Kind::set_aim, plate, 1, {}});
    if (setting != 2 && darkens(situation, plate)) actions.push_back({Kind::set_other, plate, 1, {}});
  }
  actions.push_back({Kind::restore, no_device, 1, {}});
}

/// Set to another site number, the plate could make a module come up dark from then on.
bool CureRules::darkens(const Situation& situation, DeviceId plate) const {
  if (other_site_ == 0) return false;
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    if (!wants_other_site(situation, site().module_id(i))) continue;
    if (std::find(plates_of_[i].begin(), plates_of_[i].end(), plate) != plates_of_[i].end()) return true;
  }
  return false;
}

/// What is still to be done with covers off, and what goes with it.
sim::Duration CureRules::cover_work_at_least(const Situation& situation) const {
  const sim::Duration a_plate = times().pause + setting_takes;
  const sim::Duration isolating = times().pause + isolating_takes;
  const sim::Duration restoring = times().pause + restoring_takes;
  int plates = 0;
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate)
    plates += own(plate) && situation.devices[plate].setting != 1 ? 1 : 0;
  bool other = false;
  for (std::size_t i = 0; i < site().modules.size() && !other; ++i)
    other = wants_other_site(situation, site().module_id(i)) && !has_darker_number(situation, i);
  // Another number, and after it has been taken the plate's own.
  if (other) plates = std::max(plates + 1, 2);
  int isolations = other ? 2 : plates > 0 ? 1 : 0;
  sim::Duration sum = a_plate * plates;
  if (situation.isolated) {
    isolations = std::max(isolations, 1);
    sum -= isolating;
  }
  return sum + (isolating + restoring) * isolations;
}

/// Some plate shows a site number already that makes the module come up dark.
bool CureRules::has_darker_number(const Situation& situation, std::size_t module) const {
  for (const DeviceId plate : plates_of_[module]) {
    const auto shown = setting(situation, plate);
    if (shown && is_for(situation, module, {shown->site, shown->zone, 1})) return true;
  }
  return false;
}

}  // namespace drybus::model
