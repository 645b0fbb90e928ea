#include "model/hunt/goal.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/findings/misread.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

Judge::By way_to_recognise(const HuntGoal& goal) {
  if (!goal.finding) return Judge::By::end;
  switch (*goal.finding) {
    case FindingId::setup_split:
    case FindingId::two_plates_in_setup:
    case FindingId::shared_address:
    case FindingId::wrong_address:
    case FindingId::orphan_address:
    case FindingId::site_overlap:
    case FindingId::factory_site:
    case FindingId::zone_zero:
      return Judge::By::state;
    case FindingId::write_lost:
      return Judge::By::note;
    case FindingId::assign_unheard:
    case FindingId::out_of_reach:
    case FindingId::telegram_lost:
    case FindingId::powers_up_lit:
    case FindingId::not_understood:
    case FindingId::scene_in_motion:
    case FindingId::scene_missed:
    case FindingId::scene_of_before:
    case FindingId::scene_unset:
    case FindingId::master_next_door:
    case FindingId::scene_overwritten:  // never within one step: see can_be_hunted
      return Judge::By::record;
    case FindingId::press_misread:
    case FindingId::blip_asleep:
    case FindingId::stuck_button:
      return Judge::By::memory;
    case FindingId::unaddressed:
    case FindingId::scene_wrong:
      return Judge::By::end;
  }
  return Judge::By::end;
}

/// What must have been noted for the finding to come about.
Notes what_it_takes(FindingId finding) {
  switch (finding) {
    case FindingId::setup_split:
      // Modes end, power goes; and with a step or a look, what the installer believes may change.
      return notes(What::mode, What::step, What::power, What::checked);
    case FindingId::two_plates_in_setup:
      return notes(What::mode, What::link);
    case FindingId::factory_site:
    case FindingId::zone_zero:
      return notes(What::mode, What::switches);
    case FindingId::shared_address:
    case FindingId::wrong_address:
      return notes(What::stored, What::store_torn);
    case FindingId::orphan_address:
      return notes(What::stored, What::store_torn, What::switches);
    case FindingId::site_overlap:
      return notes(What::switches, What::link);
    case FindingId::press_misread:
      return notes(What::misread, What::mode);
    case FindingId::write_lost:
      return notes(What::store_torn);
    case FindingId::assign_unheard:
      return notes(What::sent_whole, What::gave_up, What::dropped);
    case FindingId::out_of_reach:
      return notes(What::lost, What::sent_whole);
    case FindingId::telegram_lost:
      return notes(What::lost, What::gave_up, What::dropped);
    case FindingId::not_understood:
    case FindingId::scene_of_before:
    case FindingId::scene_unset:
    case FindingId::scene_overwritten:
      return notes(What::sent_whole);
    case FindingId::scene_in_motion:
      return notes(What::store_begun);
    case FindingId::scene_missed:
      return notes(What::lost);
    case FindingId::master_next_door:
      return notes(What::obeyed);
    case FindingId::powers_up_lit:
      return notes(What::power);
    case FindingId::stuck_button:
      return notes(What::contact);
    case FindingId::blip_asleep:
    case FindingId::unaddressed:
    case FindingId::scene_wrong:
      return notes();
  }
  return notes();
}

/// A fact's value in a number; different values have different numbers.
std::uint32_t value_of(const Scenario& scenario, const World& world, DeviceId device, Fact fact) {
  const bool plate = scenario.site.is_plate(device);
  const std::size_t module = plate ? 0 : scenario.site.module_index(device);
  const auto packed = [](const Address& a) {
    return static_cast<std::uint32_t>(a.site << 16 | a.zone << 8 | a.channel);
  };
  switch (fact) {
    case Fact::indicator:
      return static_cast<std::uint32_t>(world.devices[device].indicator);
    case Fact::mode:
      return static_cast<std::uint32_t>(world.devices[device].mode);
    case Fact::load:
    case Fact::level:
      return plate ? 0 : world.loads[module].at(world.now);
    case Fact::power_up:
      return plate ? 0 : static_cast<std::uint32_t>(world.modules[module].memory.power_up);
    case Fact::address:
    case Fact::site:
    case Fact::zone:
    case Fact::channel:
      if (!plate) return packed(world.modules[module].memory.address);
      return packed({world.plates[device].site, world.plates[device].zone, world.plates[device].channel});
    case Fact::findings:
      break;
  }
  return 0;
}

}  // namespace

bool can_be_hunted(FindingId finding) {
  return finding != FindingId::scene_overwritten;
}

std::string describe(const Scenario& scenario, const HuntGoal& goal) {
  if (goal.finding) return tr("no {}", to_string(*goal.finding));
  const std::string& name = scenario.site.name(goal.expectation.device);
  const std::string_view fact = to_string(goal.expectation.fact);
  const std::string& wanted = goal.expectation.wanted.front();
  return goal.negated ? tr("{}.{} is not {}", name, fact, wanted) : tr("{}.{} is {}", name, fact, wanted);
}

Judge::Judge(const Scenario& scenario, const HuntGoal& goal)
    : scenario_(scenario), goal_(goal), by_(way_to_recognise(goal)) {
  if (goal.finding) relevant_ = what_it_takes(*goal.finding);
  const Site& site = scenario.site;
  first_remembered_.push_back(0);
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    std::size_t remembered = by_ == By::memory ? 1 : 0;
    if (goal.finding == FindingId::stuck_button && site.is_plate(device))
      remembered = site.plate_family(device).buttons.size();
    first_remembered_.push_back(first_remembered_.back() + remembered);
    stuck_after_.resize(first_remembered_.back(), site.family_of(device).stuck_after);
  }
}

// --- from the world ----------------------------------------------------------------------------------------------

bool Judge::anybody_in_setup(const World& world) {
  return std::any_of(world.devices.begin(), world.devices.end(),
                     [](const auto& d) { return d.mode == Mode::setup; });
}

bool Judge::broken_by_event(const World& world) {
  if (by_ == By::note) return true;
  const FindingId finding = *goal_.finding;
  const bool needs_setup = finding == FindingId::setup_split || finding == FindingId::two_plates_in_setup ||
                           finding == FindingId::factory_site || finding == FindingId::zone_zero;
  if (needs_setup && !anybody_in_setup(world)) return false;
  breaches_.clear();
  add_state_breaches(scenario_, world, breaches_);
  return std::any_of(breaches_.begin(), breaches_.end(),
                     [&](const Breach& breach) { return breach.id == finding; });
}

bool Judge::some_module_unaddressed(const World& world) const {
  const auto& specs = scenario_.site.modules;
  for (std::size_t i = 0; i < specs.size(); ++i) {
    if (!specs[i].neighbour && specs[i].intended && !world.modules[i].memory.addressed()) return true;
  }
  return false;
}

bool Judge::some_scene_wrong(const World& world) const {
  const auto& specs = scenario_.site.modules;
  if (!world.firmware.empty()) return false;  // a firmware of somebody's own does not tell its scenes
  for (std::size_t i = 0; i < specs.size(); ++i) {
    if (wrong_scenes(specs[i], world.modules[i].newest()) != 0) return true;
  }
  return false;
}

bool Judge::broken_at_end(const World& world) {
  if (goal_.finding == FindingId::scene_wrong) return some_scene_wrong(world);
  if (goal_.finding) return some_module_unaddressed(world);
  const std::uint32_t value = value_of(scenario_, world, goal_.expectation.device, goal_.expectation.fact);
  Known& known = known_[value % known_.size()];
  if (!known.filled || known.value != value)
    known = {value, true, fact_is(scenario_, world, goal_.expectation)};
  return known.holds == goal_.negated;
}

// --- from a record -----------------------------------------------------------------------------------------------

bool Judge::broken_by_record(const FindingWatch& watch, const World& world) const {
  const auto all = watch.observations(scenario_, world);
  return std::any_of(all.begin(), all.end(), [&](const Observation& o) { return o.id == *goal_.finding; });
}

// --- from memory -------------------------------------------------------------------------------------------------

bool Judge::remember(const World& world, std::span<const sim::Entry> entries,
                     std::vector<sim::Instant>& memory) const {
  bool broken = false;
  const bool of_presses = *goal_.finding == FindingId::press_misread;
  for (const sim::Entry& entry : entries) {
    broken = (of_presses ? remember_misread(world, entry, memory) : remember_unshown(world, entry, memory)) ||
             broken;
  }
  return broken;
}

bool Judge::remember_misread(const World& world, const sim::Entry& entry,
                             std::vector<sim::Instant>& memory) const {
  const Site& site = scenario_.site;
  const auto unsure = [&](DeviceId plate) {
    return memory[plate] != sim::never && entry.at - memory[plate] <= goes_on_within;
  };
  if (what(entry) == What::misread) {
    if (speaks_for_itself(site, world, entry, unsure(entry.who))) return true;
    memory[entry.who] = entry.at;
    return false;
  }
  if (what(entry) != What::mode) return false;
  bool broken = false;
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (!goes_on_with(site, world, entry, plate)) continue;
    broken = broken || unsure(plate);
    memory[plate] = sim::never;
  }
  return broken;
}

bool Judge::remember_unshown(const World& world, const sim::Entry& entry,
                             std::vector<sim::Instant>& memory) const {
  if (what(entry) == What::blip_unshown) memory[entry.who] = entry.at;
  if (what(entry) != What::checked) return false;
  const Check& check = scenario_.checks[entry.a];
  if (!check.seen || check.fact != Fact::indicator) return false;
  const sim::Instant unshown = memory[check.device];
  return unshown != sim::never && world.devices[check.device].indicator == Pattern::dark &&
         unshown + scenario_.site.family_of(check.device).indicator.blip >= entry.at;
}

bool Judge::remember_contacts(const World& world, std::vector<sim::Instant>& memory) const {
  bool broken = false;
  for (DeviceId device = 0; device < world.devices.size(); ++device) {
    const std::size_t first = first_remembered_[device];
    for (std::size_t i = first; i < first_remembered_[device + 1u]; ++i) {
      const bool closed = (world.devices[device].contacts >> (i - first) & 1) != 0;
      broken = held_too_long(world, memory, i) || broken;
      if (!closed) memory[i] = sim::never;
      if (closed && memory[i] == sim::never) memory[i] = world.now;
    }
  }
  return broken;
}

bool Judge::broken_by_memory(const World& world, const std::vector<sim::Instant>& memory) const {
  if (needs_entries()) return false;
  for (std::size_t i = 0; i < memory.size(); ++i) {
    if (held_too_long(world, memory, i)) return true;
  }
  return false;
}

sim::Duration Judge::age(const World& world, sim::Instant remembered) const {
  if (remembered == sim::never) return gone;
  const sim::Duration age = world.now - remembered;
  if (*goal_.finding == FindingId::stuck_button) return age;
  if (*goal_.finding == FindingId::press_misread) return age > goes_on_within ? gone : age;
  return age > scenario_.site.longest([](const Family& each) { return each.indicator.blip; }) ? gone : age;
}

void Judge::add_deadlines(const World& world, const std::vector<sim::Instant>& memory,
                          std::vector<sim::Duration>& left) const {
  if (by_ != By::memory || *goal_.finding != FindingId::stuck_button) return;
  for (std::size_t i = 0; i < memory.size(); ++i) {
    if (memory[i] != sim::never) left.push_back(memory[i] + stuck_after_[i] - world.now);
  }
}

// --- what is alike for the goal ------------------------------------------------------------------------------------

IntendedOf Judge::asks_for_intended() const {
  if (!goal_.finding) return IntendedOf::nothing;
  switch (*goal_.finding) {
    case FindingId::wrong_address:
    case FindingId::unaddressed:
    case FindingId::
        orphan_address:  // a module that holds a neighbour's address instead of its own is told of once
    case FindingId::out_of_reach:
    case FindingId::press_misread:  // a plate that has done its work is taken for out of setup
    case FindingId::scene_wrong:
      return IntendedOf::module;
    case FindingId::setup_split:
      return IntendedOf::plate;
    case FindingId::assign_unheard:
    case FindingId::two_plates_in_setup:
    case FindingId::shared_address:
    case FindingId::site_overlap:
    case FindingId::factory_site:
    case FindingId::zone_zero:
    case FindingId::telegram_lost:
    case FindingId::blip_asleep:
    case FindingId::powers_up_lit:
    case FindingId::stuck_button:
    case FindingId::write_lost:
    case FindingId::not_understood:
    case FindingId::scene_in_motion:
    case FindingId::scene_missed:
    case FindingId::scene_of_before:
    case FindingId::scene_unset:
    case FindingId::scene_overwritten:
    case FindingId::master_next_door:
      return IntendedOf::nothing;
  }
  return IntendedOf::module;
}

std::vector<DeviceId> Judge::named() const {
  if (goal_.finding || scenario_.site.is_plate(goal_.expectation.device)) return {};
  return {goal_.expectation.device};
}

}  // namespace drybus::model
