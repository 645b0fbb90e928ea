#include "model/findings/findings.h"

#include <algorithm>
#include <array>

#include "model/findings/moment.h"

namespace drybus::model {

namespace {
constexpr sim::ByEnum<FindingId, std::string_view> ids = {
    "setup-split",     "assign-unheard", "press-misread",     "two-plates-in-setup", "shared-address",
    "wrong-address",   "unaddressed",    "orphan-address",    "site-overlap",        "factory-site",
    "zone-zero",       "out-of-reach",   "telegram-lost",     "blip-asleep",         "powers-up-lit",
    "stuck-button",    "write-lost",     "not-understood",    "scene-in-motion",     "scene-missed",
    "scene-of-before", "scene-unset",    "scene-overwritten", "scene-wrong",         "master-next-door"};
}  // namespace

std::string_view to_string(FindingId id) {
  return ids[id];
}

std::optional<FindingId> parse_finding(std::string_view text) {
  return ids.find(text);
}

FindingWatch::FindingWatch(const Scenario& scenario)
    : facts_(scenario.site.device_count()), scenes_(scenario) {}

void FindingWatch::observe(const Scenario& scenario, const World& world, const sim::Record& record) {
  while (seen_ < record.size()) {
    ++seen_;
    take_in(scenario, world, record, static_cast<sim::EntryId>(seen_));
  }
  if (!offers_.empty()) settle_offers(scenario, world, record);
  if (dirty_) settle_states(scenario, world);
  if (world.now >= next_stuck_) settle_held_buttons(scenario, world, record);
}

void FindingWatch::take_in(const Scenario& scenario, const World& world, const sim::Record& record,
                           sim::EntryId id) {
  const sim::Entry& entry = record[id];
  scenes_.take_in({scenario, world}, record, id, observed_);
  switch (what(entry)) {
    case What::mode:
      return take_in_mode(scenario, world, record, id);
    case What::contact:
      return take_in_contact(scenario, record, id);
    case What::lost:
      return take_in_lost(scenario, world, record, id);
    case What::level:
      return take_in_level(scenario, world, record, id);
    case What::checked:
      return take_in_look(scenario, world, record, id);
    case What::misread:
      return take_in_misread(scenario, world, record, id);
    case What::step:
      dirty_ = true;
      return;  // what the installer believes may have changed
    case What::heard:
      return take_in_heard(scenario, world, record, id);
    case What::stored:
      if (entry.b == 0) return;
      facts_[entry.who].stored = id;
      forget_address(entry.who, entry.at);
      dirty_ = true;
      return;
    case What::store_torn:
      facts_[entry.who].torn = id;
      facts_[entry.who].torn_at = entry.at;
      observed_.push_back(
          {FindingId::write_lost, entry.at, entry.at, {entry.who}, without_gaps({entry.cause, id})});
      dirty_ = true;
      return;
    case What::switches:
      facts_[entry.who].switched = id;
      dirty_ = true;
      return;
    case What::power:
      dirty_ = true;
      return;
    case What::link:
      dirty_ = true;
      return;
    case What::blip_unshown:
      facts_[entry.who].unshown = id;
      return;
    case What::blips:
      if (entry.a == 0) facts_[entry.who].asleep = id;
      return;
    case What::assign_ignored:
      if (!offers_.empty()) offers_.back().evidence.push_back(id);
      return;
    case What::gave_up:
    case What::dropped:
      if (Moment{scenario, world}.is_missed_by_people(entry.who, unpack(entry.b))) {
        lose_telegram(record, entry.who, entry.who, id, id);
      }
      if (offers_address(unpack(entry.b))) offers_.push_back({id, false, {}});
      return;
    case What::sent_whole:
      if (offers_address(unpack(entry.b))) offers_.push_back({id, false, {}});
      return take_in_lost(scenario, world, record, id);  // by whoever is on another bus
    case What::began:
    case What::walked:
    case What::arrived:
    case What::gesture:
    case What::channel:
    case What::refused:
    case What::timer:
    case What::queued:
    case What::deferred:
    case What::sent:
    case What::obeyed:
    case What::indicator:
    case What::level_reached:
    case What::store_begun:
    case What::power_up:
    case What::stuck:
    case What::deaf:
    case What::said:
      return;
  }
}

void FindingWatch::take_in_mode(const Scenario& scenario, const World& world, const sim::Record& record,
                                sim::EntryId id) {
  const sim::Entry& entry = record[id];
  Facts& facts = facts_[entry.who];
  if (static_cast<Mode>(entry.a) == Mode::setup) {
    facts.entered = id;
    if (!unsure_.empty()) setup_goes_on(scenario.site, world, record, id);
  } else {
    facts.left = id;
    // Some offers wait until somebody confirms them; all others are settled after each event.
    if (static_cast<ModeReason>(entry.b) == ModeReason::assigned) {
      for (Offer& offer : offers_) offer.taken = true;
    }
  }
  dirty_ = true;
}

void FindingWatch::take_in_contact(const Scenario& scenario, const sim::Record& record, sim::EntryId id) {
  const sim::Entry& entry = record[id];
  std::vector<sim::EntryId>& down = facts_[entry.who].down;
  if (entry.b != 0) {
    down.push_back(id);
    next_stuck_ = std::min(next_stuck_, stuck_from(scenario, record, entry.who));
    return;
  }
  const auto closed =
      std::find_if(down.begin(), down.end(), [&](sim::EntryId d) { return record[d].a == entry.a; });
  if (closed == down.end()) return;
  // It may have come up before anything else happened that would have shown how long it was down.
  open_if_stuck(scenario, record, entry.who, entry.at);
  down.erase(closed);
  const sim::Instant next = stuck_from(scenario, record, entry.who);
  const bool another = next <= entry.at;
  next_stuck_ = std::min(next_stuck_, next);
  const auto open = std::find_if(open_.begin(), open_.end(), [&](const Open& each) {
    return each.breach.id == FindingId::stuck_button && each.breach.first == entry.who;
  });
  if (open == open_.end() || another) return;
  observed_[open->observation].until = entry.at;
  open_.erase(open);
}

/// From when on the button that is down for longest counts as stuck.
sim::Instant FindingWatch::stuck_from(const Scenario& scenario, const sim::Record& record,
                                      DeviceId device) const {
  if (facts_[device].down.empty()) return sim::never;
  return record[facts_[device].down.front()].at + scenario.site.family_of(device).stuck_after;
}

void FindingWatch::open_if_stuck(const Scenario& scenario, const sim::Record& record, DeviceId device,
                                 sim::Instant now) {
  const sim::Instant since = stuck_from(scenario, record, device);
  if (since > now) return;
  const Breach breach{FindingId::stuck_button, device, no_device};
  const bool known =
      std::any_of(open_.begin(), open_.end(), [&](const Open& each) { return each.breach == breach; });
  if (!known) open(breach, since, evidence_of(breach));
}

void FindingWatch::lose_telegram(const sim::Record& record, DeviceId sender, DeviceId receiver,
                                 sim::EntryId telegram, sim::EntryId id) {
  const auto same = std::find_if(observed_.rbegin(), observed_.rend(), [&](const Observation& earlier) {
    return earlier.id == FindingId::telegram_lost && earlier.evidence.front() == telegram;
  });
  if (same != observed_.rend()) {
    same->devices.push_back(receiver);
    same->evidence.push_back(id);
    return;
  }
  const sim::Instant at = record[id].at;
  Observation lost{FindingId::telegram_lost, at, at, {sender}, {telegram}};
  if (receiver != sender) lost.devices.push_back(receiver);
  if (id != telegram) lost.evidence.push_back(id);
  observed_.push_back(std::move(lost));
}

void FindingWatch::take_in_level(const Scenario& scenario, const World& world, const sim::Record& record,
                                 sim::EntryId id) {
  const sim::Entry& entry = record[id];
  if (entry.cause == sim::no_entry || what(record[entry.cause]) != What::power) return;
  const Moment now{scenario, world};
  if (!now.own(entry.who) || entry.a >> 16 == 0 || now.memory(entry.who).power_up != PowerUp::full) return;
  if (!now.memory(entry.who).addressed()) return;  // as from the factory, so that somebody sees it is there
  observed_.push_back({FindingId::powers_up_lit,
                       entry.at,
                       entry.at,
                       {entry.who},
                       without_gaps({facts_[entry.who].stored, entry.cause, id})});
}

void FindingWatch::take_in_look(const Scenario& scenario, const World& world, const sim::Record& record,
                                sim::EntryId id) {
  const sim::Entry& entry = record[id];
  const Check& check = scenario.checks[entry.a];
  if (!check.seen || check.fact != Fact::indicator) return;
  dirty_ = true;
  const Facts& facts = facts_[check.device];
  if (facts.unshown == sim::no_entry || world.devices[check.device].indicator != Pattern::dark) return;
  if (record[facts.unshown].at + scenario.site.family_of(entry.who).indicator.blip < entry.at) return;
  observed_.push_back({FindingId::blip_asleep,
                       entry.at,
                       entry.at,
                       {check.device},
                       without_gaps({facts.asleep, facts.unshown, entry.cause})});
}

/// Of one module and one command the first time is told.
void FindingWatch::take_in_heard(const Scenario& scenario, const World& world, const sim::Record& record,
                                 sim::EntryId id) {
  const sim::Entry& entry = record[id];
  const Telegram telegram = unpack(entry.b);
  const Moment now{scenario, world};
  if (!is_command(telegram.kind) || !now.matters_to(telegram, entry.who) ||
      !now.memory(entry.who).addressed())
    return;
  if (understands(scenario.site.family_of(entry.who).module, telegram)) return;
  const bool known = std::any_of(observed_.begin(), observed_.end(), [&](const Observation& earlier) {
    if (earlier.id != FindingId::not_understood || earlier.devices.front() != entry.who) return false;
    const Telegram then = unpack(record[earlier.evidence.back()].b);
    return then.kind == telegram.kind && then.argument == telegram.argument;
  });
  if (known) return;
  observed_.push_back({FindingId::not_understood,
                       entry.at,
                       entry.at,
                       {entry.who, static_cast<DeviceId>(entry.a)},
                       without_gaps({facts_[entry.who].stored, id})});
}

void FindingWatch::forget_address(DeviceId module, sim::Instant at) {
  std::erase_if(open_, [&](const Open& open) {
    const FindingId id = open.breach.id;
    const bool of_address =
        id == FindingId::wrong_address || id == FindingId::orphan_address || id == FindingId::shared_address;
    if (!of_address || (open.breach.first != module && open.breach.other != module)) return false;
    observed_[open.observation].until = at;
    return true;
  });
}

std::vector<sim::EntryId> FindingWatch::evidence_of(const Breach& breach) const {
  const Facts& first = facts_[breach.first];
  const Facts& other = facts_[breach.other == no_device ? breach.first : breach.other];
  switch (breach.id) {
    case FindingId::setup_split:
      return without_gaps({first.entered, first.left, other.entered});
    case FindingId::two_plates_in_setup:
      return without_gaps({first.entered, other.entered});
    case FindingId::factory_site:
    case FindingId::zone_zero:
      return without_gaps({first.switched, first.entered});
    case FindingId::site_overlap:
      return without_gaps({first.switched, other.switched});
    case FindingId::shared_address:
      return without_gaps({first.stored, other.stored});
    case FindingId::wrong_address:
      return without_gaps({first.stored});
    case FindingId::orphan_address: {
      std::vector<sim::EntryId> evidence{first.stored};
      for (const Facts& facts : facts_) evidence.push_back(facts.switched);
      return without_gaps(std::move(evidence));
    }
    case FindingId::stuck_button:
      return without_gaps({first.down.front()});
    case FindingId::assign_unheard:
    case FindingId::press_misread:
    case FindingId::unaddressed:
    case FindingId::out_of_reach:
    case FindingId::telegram_lost:
    case FindingId::blip_asleep:
    case FindingId::powers_up_lit:
    case FindingId::write_lost:
    case FindingId::not_understood:
    case FindingId::scene_in_motion:
    case FindingId::scene_missed:
    case FindingId::scene_of_before:
    case FindingId::scene_unset:
    case FindingId::scene_overwritten:
    case FindingId::scene_wrong:
    case FindingId::master_next_door:
      return {};
  }
  return {};
}

void FindingWatch::open(const Breach& breach, sim::Instant at, std::vector<sim::EntryId> evidence) {
  const auto known = std::find_if(open_.begin(), open_.end(), [&](const Open& open) {
    return open.breach.id == breach.id && open.breach.first == breach.first;
  });
  if (known == open_.end()) {
    Observation observation{breach.id, at, std::nullopt, {breach.first}, std::move(evidence)};
    if (breach.other != no_device) observation.devices.push_back(breach.other);
    observed_.push_back(std::move(observation));
    open_.push_back({breach, observed_.size() - 1});
    return;
  }
  Observation& observation = observed_[known->observation];
  if (std::find(observation.devices.begin(), observation.devices.end(), breach.other) ==
      observation.devices.end()) {
    observation.devices.push_back(breach.other);
  }
  observation.evidence.insert(observation.evidence.end(), evidence.begin(), evidence.end());
  observation.evidence = without_gaps(std::move(observation.evidence));
  const std::size_t index = known->observation;
  open_.push_back({breach, index});
}

void FindingWatch::settle_states(const Scenario& scenario, const World& world) {
  dirty_ = false;
  settle_reach(scenario, world);
  scratch_.clear();
  add_state_breaches(scenario, world, scratch_);
  const auto same = [](const Breach& a, const Breach& b) {
    return a.id == b.id && a.first == b.first && a.other == b.other;
  };
  std::erase_if(open_, [&](const Open& open) {
    if (open.breach.id == FindingId::stuck_button) return false;
    const bool goes_on = std::any_of(scratch_.begin(), scratch_.end(),
                                     [&](const Breach& breach) { return same(breach, open.breach); });
    if (!goes_on) observed_[open.observation].until = world.now;
    return !goes_on;
  });
  for (const Open& open : open_) observed_[open.observation].until.reset();
  for (const Breach& breach : scratch_) {
    const bool known =
        std::any_of(open_.begin(), open_.end(), [&](const Open& open) { return same(breach, open.breach); });
    if (!known) open(breach, world.now, evidence_of(breach));
  }
}

void FindingWatch::settle_held_buttons(const Scenario& scenario, const World& world,
                                       const sim::Record& record) {
  next_stuck_ = sim::never;
  for (DeviceId device = 0; device < facts_.size(); ++device) {
    const sim::Instant since = stuck_from(scenario, record, device);
    if (since > world.now) {
      next_stuck_ = std::min(next_stuck_, since);
    } else {
      open_if_stuck(scenario, record, device, world.now);
    }
  }
}

std::vector<Observation> FindingWatch::observations(const Scenario& scenario, const World& world) const {
  std::vector<Observation> all = observed_;
  const Moment now{scenario, world};
  now.each_module([&](DeviceId module) {
    if (!now.own(module) || now.memory(module).addressed()) return;
    if (!scenario.site.modules[scenario.site.module_index(module)].intended) return;
    const Facts& facts = facts_[module];
    all.push_back({FindingId::unaddressed,
                   facts.torn_at,
                   std::nullopt,
                   {module},
                   without_gaps({facts.entered, facts.left, facts.torn})});
  });
  scenes_.add_wrong_scenes(now, all);
  std::stable_sort(all.begin(), all.end(), [](const Observation& a, const Observation& b) {
    return a.at != b.at ? a.at < b.at : a.id < b.id;
  });
  return all;
}

}  // namespace drybus::model
