#include <algorithm>
#include <set>

#include "model/planning/cover_work.h"
#include "model/planning/route.h"
#include "model/planning/ways_into_setup.h"
#include "model/recovery/search.h"

namespace drybus::model {

namespace {

using Kind = CureAction::Kind;

constexpr sim::Duration second = std::chrono::seconds{1};

/// Deafness beyond this is no matter of pressing again.
constexpr std::uint8_t most_offers = 8;

}  // namespace

CureRules::CureRules(const Scenario& asked, const Aim& aim, std::vector<Outlook> outlooks,
                     const RecoverOptions& options, bool isolated)
    : asked_(asked),
      aim_(aim),
      outlooks_(std::move(outlooks)),
      options_(options),
      isolated_(isolated),
      reach_(asked.site.network) {
  plates_of_.resize(site().modules.size());
  hears_.resize(site().plates.size());
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const bool hears = reach_.path(site().network, plate, site().module_id(i));
      hears_[plate].push_back(hears ? 1 : 0);
      const auto& address = aim_.addresses[i];
      if (hears && own(plate) && address && aim_.plates[plate] == PlateSetting{address->site, address->zone})
        plates_of_[i].push_back(plate);
    }
  }
  for (std::size_t i = 0; i < plates_of_.size(); ++i) {
    const PlaceId from = site().place(site().module_id(i));
    std::stable_sort(plates_of_[i].begin(), plates_of_[i].end(), [&](DeviceId a, DeviceId b) {
      return site().walk(from, site().place(a)) < site().walk(from, site().place(b));
    });
  }
  std::set<std::uint8_t> used{0};
  site().each_family([&](const Family& each) { used.insert(each.module.factory_site); });
  for (const Outlook& outlook : outlooks_) used.insert(outlook.lit.begin(), outlook.lit.end());
  for (const PlateSetting& plate : aim_.plates) used.insert(plate.site);
  for (const Outlook& outlook : outlooks_) used.insert(outlook.switches.site);
  for (unsigned number = 2; other_site_ == 0 && number <= site().largest_site_number(); ++number) {
    if (!used.contains(static_cast<std::uint8_t>(number))) other_site_ = static_cast<std::uint8_t>(number);
  }
  const Situation at_first = beginning(0);
  for (std::size_t i = 0; i < site().modules.size(); ++i)
    two_numbers_ = two_numbers_ || wants_other_site(at_first, site().module_id(i));
}

Situation CureRules::beginning(PlaceId place) const {
  Situation situation;
  situation.place = place;
  situation.isolated = isolated_;
  for (DeviceId device = 0; device < outlooks_.size(); ++device) {
    const Outlook& outlook = outlooks_[device];
    Belief belief;
    if (outlook.in_setup) {
      const bool known =
          own(device) && options_.of_this_moment && !outlook.in_normal_mode && outlook.same_channel;
      belief.standing = known ? Standing::setup : Standing::either;
      belief.channel = outlook.channel;
      belief.lasts_until = lasting(outlook.soonest);
      belief.over_at = outlook.latest;
    }
    if (!site().is_plate(device)) {
      belief.held = outlook.to_address ? 0 : 1;
      belief.lit = outlook.lit.empty() ? not_lit : lit_as_found;
      belief.deaf = static_cast<std::uint8_t>(std::min<unsigned>(outlook.deaf_for, most_offers));
    } else {
      belief.setting = outlook.wrong_switches ? 0 : 1;
    }
    situation.devices.push_back(belief);
  }
  if (!isolated_) be_wary(situation);
  return situation;
}

/// Time has passed, and somebody may have pressed something: who is to be handled may be in setup by now.
void CureRules::be_wary(Situation& situation) const {
  const auto wary = [&](DeviceId device) {
    Belief& belief = situation.devices[device];
    belief.standing = Standing::either;
    belief.over_at = std::max(belief.over_at, site().time_out(device).after);
  };
  for (const DeviceId device : options_.seen_in_setup) wary(device);
  if (options_.of_this_moment) return;
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    const DeviceId module = site().module_id(i);
    if (!wants_address(situation, module)) continue;
    wary(module);
    if (!plates_of(module).empty()) wary(plates_of(module).front());
  }
  for (DeviceId device = 0; options_.afresh && device < situation.devices.size(); ++device) {
    if (own(device)) wary(device);
  }
}

bool CureRules::wants_address(const Situation& situation, DeviceId module) const {
  if (!own(module) || !aim_.addresses[site().module_index(module)]) return false;
  const Belief& belief = situation.devices[module];
  return belief.held == 0 || belief.lit != not_lit;
}

bool CureRules::wants_other_site(const Situation& situation, DeviceId module) const {
  const auto& address = aim_.addresses[site().module_index(module)];
  if (!own(module) || !address) return false;
  const std::uint16_t lit = situation.devices[module].lit;
  if (lit == not_lit) return false;
  if (lit != lit_as_found) return lit == address->site;
  const std::vector<std::uint8_t>& sites = outlooks_[module].lit;
  return std::find(sites.begin(), sites.end(), address->site) != sites.end();
}

std::vector<DeviceId> CureRules::lit() const {
  std::vector<DeviceId> all;
  for (DeviceId device = 0; device < outlooks_.size(); ++device) {
    if (!outlooks_[device].lit.empty()) all.push_back(device);
  }
  return all;
}

bool CureRules::is_over(const Situation& situation) const {
  for (DeviceId device = 0; device < situation.devices.size(); ++device) {
    const Belief& belief = situation.devices[device];
    if (!own(device)) continue;
    if (belief.standing != Standing::normal) return false;
    if (site().is_plate(device) ? belief.setting != 1 : wants_address(situation, device)) return false;
  }
  return true;
}

// --- what actions do ---

void CureRules::pass(Situation& situation, sim::Duration until) const {
  situation.now = until;
  for (Belief& belief : situation.devices) {
    if (belief.standing == Standing::normal) continue;
    if (until >= belief.over_at) {
      belief.standing = Standing::normal;
      belief.channel = 0;
      belief.put_in_setup = 0;
      belief.offered = 0;
    } else if (until >= belief.lasts_until) {
      belief.standing = Standing::either;
    }
  }
}

void CureRules::walk(Situation& situation, DeviceId device) const {
  const PlaceId there = site().place(device);
  if (situation.place == there) return;
  pass(situation, situation.now + site().walk(situation.place, there));
  situation.place = there;
}

void CureRules::enter(Situation& situation, DeviceId device) const {
  Belief& belief = situation.devices[device];
  belief.standing = Standing::setup;
  belief.channel = site().is_plate(device) ? first_channel(site().plate_family(device)) : std::uint8_t{0};
  belief.put_in_setup = 1;
  situation.setup_begun = true;
  // A module's own button is let go in setup already, and that counts as a press; a plate's gesture does not.
  const bool from_release =
      !site().is_plate(device) && site().time_out(device).from == CountedFrom::last_press;
  const sim::Duration since = situation.now + (from_release ? hold_margin : sim::Duration::zero());
  belief.lasts_until = since + lasting(site().time_out(device).after);
  belief.over_at = since + site().time_out(device).after;
}

std::optional<PlateSetting> CureRules::setting(const Situation& situation, DeviceId plate) const {
  const std::uint8_t set = situation.devices[plate].setting;
  if (set == 1) return aim_.plates[plate];
  if (set == 2) return PlateSetting{other_site_, aim_.plates[plate].zone};
  if (!outlooks_[plate].same_switches) return std::nullopt;
  return outlooks_[plate].switches;
}

bool CureRules::act(Situation& situation, const CureAction& action) const {
  switch (action.kind) {
    case Kind::wait:
      pass(situation, situation.now + action.duration);
      return true;
    case Kind::isolate:
      return isolate(situation);
    case Kind::restore:
      return restore(situation);
    case Kind::set_aim:
    case Kind::set_other:
      if (!situation.isolated) return false;
      break;
    case Kind::hold:
    case Kind::press:
    case Kind::next:
    case Kind::previous:
    case Kind::assign:
      if (situation.isolated) return false;
      break;
  }
  walk(situation, action.device);
  Belief& belief = situation.devices[action.device];
  switch (action.kind) {
    case Kind::hold: {
      if (belief.standing != Standing::normal) return false;
      pass(situation, situation.now + way_takes(action.device));
      enter(situation, action.device);
      if (!site().is_plate(action.device) && asks(action.device) && !be_answered(situation, action.device))
        return false;
      pass(situation, situation.now + hold_margin + times().pause);
      return true;
    }
    case Kind::press: {
      if (!site().is_plate(action.device) && site().module_family(action.device).button.empty()) return false;
      if (belief.offered != 0 && belief.standing == Standing::either) return false;
      const std::size_t index = site().is_plate(action.device) ? 0 : site().module_index(action.device);
      if (belief.offered != 0) take(belief, index, *aim_.addresses[index]);
      belief.standing = Standing::normal;
      belief.channel = 0;
      belief.put_in_setup = 0;
      pass(situation, situation.now + tap());
      return true;
    }
    case Kind::next:
    case Kind::previous: {
      if (!tap_in_setup(situation, action.device, action.kind)) return false;
      pass(situation, situation.now + tap());
      return true;
    }
    case Kind::assign: {
      if (!offer(situation, action.device, action.times)) return false;
      pass(situation, situation.now + tap() * action.times);
      return true;
    }
    case Kind::set_aim:
    case Kind::set_other: {
      belief.setting = action.kind == Kind::set_aim ? 1 : 2;
      pass(situation, situation.now + times().pause + setting_takes);
      return true;
    }
    case Kind::isolate:
    case Kind::restore:
    case Kind::wait:
      break;
  }
  return false;
}

bool CureRules::tap_in_setup(Situation& situation, DeviceId plate, Kind kind) const {
  Belief& belief = situation.devices[plate];
  if (belief.standing != Standing::setup) return false;
  if (kind == Kind::next && belief.channel >= site().plate_family(plate).channels) return false;
  if (kind == Kind::previous && belief.channel == 0) return false;
  if (kind == Kind::next) ++belief.channel;
  if (kind == Kind::previous) --belief.channel;
  const TimeOut& time_out = site().time_out(plate);
  if (time_out.from == CountedFrom::last_press) {
    belief.lasts_until = situation.now + lasting(time_out.after);
    belief.over_at = situation.now + time_out.after;
  }
  return true;
}

bool CureRules::offer(Situation& situation, DeviceId plate, std::uint8_t times) const {
  const auto set_to = setting(situation, plate);
  const std::uint8_t channel = situation.devices[plate].channel;
  if (!set_to || set_to->zone == 0 || channel == 0) return false;
  if (!tap_in_setup(situation, plate, Kind::assign)) return false;
  const Address offered{set_to->site, set_to->zone, channel};
  bool heard = false;
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    Belief& module = situation.devices[site().module_id(i)];
    if (hears_[plate][i] == 0 || module.standing == Standing::normal) continue;
    // Whoever may be in setup may take it: nobody offers anything before that is known.
    if (module.standing == Standing::either || !is_for(situation, i, offered)) return false;
    if (module.deaf >= times) return false;
    heard = true;
    module.deaf = 0;
    const sim::Duration confirm = site().module_family(site().module_id(i)).confirm;
    if (confirm == sim::Duration::zero()) {
      take(module, i, offered);
      continue;
    }
    if (aim_.addresses[i] != offered) return false;
    module.offered = 1;
    module.lasts_until = situation.now + lasting(confirm);
    module.over_at = situation.now + confirm;
  }
  return heard;
}

/// The module is to take what is offered: its own address, or first another site number.
bool CureRules::is_for(const Situation& situation, std::size_t module, const Address& offered) const {
  const DeviceId id = site().module_id(module);
  if (!own(id)) return false;
  if (!wants_other_site(situation, id)) return aim_.addresses[module] == offered;
  const std::uint16_t lit = situation.devices[id].lit;
  if (lit != lit_as_found) return lit != offered.site;
  const std::vector<std::uint8_t>& sites = outlooks_[id].lit;
  return std::find(sites.begin(), sites.end(), offered.site) == sites.end();
}

void CureRules::take(Belief& module, std::size_t index, const Address& offered) const {
  module.held = aim_.addresses[index] == offered ? 1 : 0;
  const std::vector<std::uint8_t>& sites = outlooks_[site().module_id(index)].lit;
  const bool stays = module.lit == lit_as_found
                         ? std::find(sites.begin(), sites.end(), offered.site) != sites.end()
                         : module.lit == offered.site;
  module.lit = stays ? offered.site : not_lit;
  module.standing = Standing::normal;
  module.put_in_setup = 0;
  module.offered = 0;
}

// --- which may be of use ---

void CureRules::add_useful(const Situation& situation, std::vector<CureAction>& actions) const {
  if (situation.isolated) return add_useful_isolated(situation, actions);
  if (cover_work_at_least(situation) > sim::Duration::zero())
    actions.push_back({Kind::isolate, no_device, 1, {}});
  for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
    if (own(plate)) add_useful_on_plate(situation, plate, actions);
  }
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    const DeviceId module = site().module_id(i);
    if (!own(module)) continue;
    if (situation.devices[module].standing != Standing::normal) {
      actions.push_back({Kind::press, module, 1, {}});
    } else if (wants_address(situation, module)) {
      actions.push_back({Kind::hold, module, 1, {}});
    }
  }
  if (const auto wait = wait_for_time_out(situation)) actions.push_back({Kind::wait, no_device, 1, *wait});
}

std::optional<sim::Duration> CureRules::wait_for_time_out(const Situation& situation) const {
  std::optional<sim::Duration> first;
  for (const Belief& belief : situation.devices) {
    if (belief.standing == Standing::normal) continue;
    const sim::Duration left = belief.over_at - situation.now;
    if (!first || left < *first) first = left;
  }
  if (!first) return std::nullopt;
  return (*first / second + 1) * second;  // whole seconds are easier told
}

void CureRules::add_useful_on_plate(const Situation& situation, DeviceId plate,
                                    std::vector<CureAction>& actions) const {
  const Belief& belief = situation.devices[plate];
  bool serves = false;
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    const DeviceId module = site().module_id(i);
    if (!wants_address(situation, module)) continue;
    const std::vector<DeviceId>& plates = plates_of(module);
    serves = serves || std::find(plates.begin(), plates.end(), plate) != plates.end();
  }
  if (belief.standing != Standing::normal) {
    actions.push_back({Kind::press, plate, 1, {}});
  } else if (serves) {
    actions.push_back({Kind::hold, plate, 1, {}});
  }
  if (belief.standing == Standing::setup && serves) add_useful_in_setup(situation, plate, actions);
}

void CureRules::add_useful_in_setup(const Situation& situation, DeviceId plate,
                                    std::vector<CureAction>& actions) const {
  const std::uint8_t channel = situation.devices[plate].channel;
  bool above = false;
  bool below = false;
  bool listens = false;
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    const DeviceId module = site().module_id(i);
    if (hears_[plate][i] != 0 && situation.devices[module].standing == Standing::setup) listens = true;
    if (!wants_address(situation, module) || aim_.addresses[i]->zone != aim_.plates[plate].zone) continue;
    above = above || stand_for(module) > channel;
    below = below || stand_for(module) < channel;
  }
  if (above) actions.push_back({Kind::next, plate, 1, {}});
  const PlateFamily& family = site().plate_family(plate);
  if (below && channel > (family.assign == no_button ? 0 : 1))
    actions.push_back({Kind::previous, plate, 1, {}});
  if (listens && channel != 0 && family.assign != no_button)
    actions.push_back({Kind::assign, plate, offers_needed(situation, plate), {}});
}

std::uint8_t CureRules::offers_needed(const Situation& situation, DeviceId plate) const {
  std::uint8_t most = 1;
  for (std::size_t i = 0; i < site().modules.size(); ++i) {
    const Belief& module = situation.devices[site().module_id(i)];
    if (hears_[plate][i] != 0 && module.standing != Standing::normal)
      most = std::max(most, static_cast<std::uint8_t>(module.deaf + 1));
  }
  return most;
}

// --- as steps ---

Step CureRules::step_of(const CureAction& action) const {
  const PlateFamily& plate = site().family_of(action.device == no_device ? 0 : action.device).plate;
  const auto press = [&](Button button) {
    return push_step(StepKind::press, action.device, only(button), times().press);
  };
  switch (action.kind) {
    case Kind::hold:
      return push_step(StepKind::hold, action.device, site().setup_gesture(action.device),
                       site().setup_hold(action.device) + hold_margin);
    case Kind::press:
      return press(site().is_plate(action.device) ? plate.leave : Button{0});
    case Kind::next:
      return press(plate.next);
    case Kind::previous:
      return press(plate.previous);
    case Kind::assign:
      return press(plate.assign);
    case Kind::set_aim:
    case Kind::set_other: {
      Step step;
      step.kind = StepKind::switches;
      step.device = action.device;
      step.site = action.kind == Kind::set_aim ? aim_.plates[action.device].site : other_site_;
      step.zone = aim_.plates[action.device].zone;
      return step;
    }
    case Kind::isolate:
    case Kind::restore:
    case Kind::wait:
      break;
  }
  return wait_step(action.duration);
}

void CureRules::add_steps(const CureAction& action, std::vector<Step>& steps) const {
  if (action.kind == Kind::isolate || action.kind == Kind::restore) {
    const std::vector<Step> both = isolation_steps(action.kind == Kind::restore);
    steps.insert(steps.end(), both.begin(), both.end());
    return;
  }
  if (action.kind == Kind::hold && by_supply(site(), action.device))
    return add_supply_steps(site(), action.device, steps);
  for (std::uint8_t i = 0; i < action.times; ++i) steps.push_back(step_of(action));
  if (action.kind == Kind::set_aim || action.kind == Kind::set_other)
    steps.push_back(wait_step(setting_takes));
}

}  // namespace drybus::model
