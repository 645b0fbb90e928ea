// Findings in words: what happened with its times, and what a person can do.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/devices/plate.h"
#include "model/findings/narrator.h"
#include "model/record/describe.h"
#include "model/record/way_into_setup.h"

namespace drybus::model {

std::string Narrator::text() const {
  switch (observation_.id) {
    case FindingId::setup_split:
      return setup_split();
    case FindingId::assign_unheard:
      return assign_unheard();
    case FindingId::press_misread:
      return press_misread();
    case FindingId::two_plates_in_setup:
      return fmt::format(
          "{} {} in setup at once. A module in setup takes the first assign it hears, whichever plate"
          " it comes from.{}",
          names(0), tense("are", "were"), how_it_came());
    case FindingId::shared_address:
      return fmt::format("{} {} the same address {}, and answer{} to everything together.{}", names(0),
                         tense("hold", "held"), to_string(address_then(first())), tense("", "ed"),
                         how_it_came());
    case FindingId::wrong_address:
      return fmt::format("{} {} {}, but {} was intended.{}", first_name(), tense("holds", "held"),
                         to_string(address_then(first())), intended(first()), how_it_came());
    case FindingId::unaddressed:
      return unaddressed();
    case FindingId::orphan_address:
      return orphan_address();
    case FindingId::site_overlap:
      return fmt::format(
          "{} belongs to a neighbour, {} within reach and {} our site number {}. Each side's presses"
          " can reach the other's modules.{}",
          first_name(), tense("is", "was"), tense("has", "had"), site_number_then(first()), how_it_came());
    case FindingId::factory_site:
      return fmt::format(
          "{} {} in setup with site number {}, as every device has from the factory. Every new module"
          " obeys it, and a neighbour's new modules would, too.{}",
          first_name(), tense("is", "was"), factory_site(), how_it_came());
    case FindingId::zone_zero:
      return fmt::format("{} {} in setup with its zone switches at 0. Zone 0 is in no address: {}.{}",
                         first_name(), tense("is", "was"),
                         refuses_zone_zero(site().plate_family(first()))
                             ? "the plate refuses to assign"
                             : "the plate offers it all the same, and no module takes it",
                         how_it_came());
    case FindingId::out_of_reach:
      return out_of_reach();
    case FindingId::telegram_lost:
      return fmt::format("A telegram was lost, and nobody was told.{}", how_it_came());
    case FindingId::blip_asleep:
      return fmt::format(
          "{} heard a telegram and showed nothing: its blips had fallen asleep. The wiring is not to"
          " blame.{}",
          first_name(), how_it_came());
    case FindingId::powers_up_lit:
      return fmt::format("{} came up at full when its power came back, for its power-up mode was full.{}",
                         first_name(), how_it_came());
    case FindingId::stuck_button:
      return stuck_button();
    case FindingId::write_lost:
      return fmt::format("{}'s power went while it was writing its memory. {}.{}", first_name(),
                         site().family_of(first()).module.memory.torn_write == TornWrite::factory
                             ? "It was as from the factory again"
                             : "What it was to store is lost",
                         how_it_came());
    case FindingId::not_understood:
      return not_understood();
    case FindingId::scene_in_motion:
    case FindingId::scene_missed:
    case FindingId::scene_of_before:
    case FindingId::scene_unset:
    case FindingId::scene_overwritten:
      return of_scene();
    case FindingId::scene_wrong:
      return scene_wrong();
    case FindingId::master_next_door:
      return master_next_door();
  }
  return {};
}

std::string Narrator::remedy() const {
  switch (observation_.id) {
    case FindingId::setup_split:
      return bring_together();
    case FindingId::assign_unheard:
      return assign_again();
    case FindingId::press_misread:
      return look_first();
    case FindingId::two_plates_in_setup:
      return leave_one_in_setup();
    case FindingId::shared_address:
      if (site().family_of(first()).plate.assign == no_button) {
        return fmt::format(
            "Give all but one of {} another address, one at a time: {}, while the plate is in setup.",
            names(0), to_setup(observation_.devices.back(), false));
      }
      return part_addresses();
    case FindingId::wrong_address:
      return address_it(first(), "again");
    case FindingId::unaddressed:
      return address_it(first(), "now");
    case FindingId::orphan_address:
      return give_it_a_plate();
    case FindingId::site_overlap:
      return "Choose a site number that no neighbour uses, set it on every plate of ours and address our "
             "modules"
             " again." +
             caution_for_switches();
    case FindingId::factory_site:
      return fmt::format(
          "Set {}'s site switches to a number of the site's own, other than {}, before anything is"
          " assigned.{}",
          first_name(), factory_site(), caution_for_switches());
    case FindingId::zone_zero:
      return fmt::format(
          "Set {}'s zone switches to 1 or more. The supply is isolated for that, which ends every "
          "setup: put it and the module in setup again, step to the channel and assign.{}",
          first_name(), caution_for_switches());
    case FindingId::out_of_reach:
      return within_reach();
    case FindingId::telegram_lost:
      return "Press again: nothing on the bus repeats a lost telegram by itself.";
    case FindingId::blip_asleep:
      return fmt::format("Press {} once to wake its blips, then try again.", any_button(first()));
    case FindingId::powers_up_lit:
      return make_it_come_up_dark();
    case FindingId::stuck_button:
      return fmt::format("Free {}; if it sticks again, replace the device.{}", stuck_button_name(),
                         caution());
    case FindingId::write_lost:
      return write_again();
    case FindingId::not_understood:
      return use_what_it_knows();
    case FindingId::scene_in_motion:
    case FindingId::scene_missed:
    case FindingId::scene_of_before:
    case FindingId::scene_unset:
    case FindingId::scene_overwritten:
      return store_again();
    case FindingId::scene_wrong:
      return set_scenes_right();
    case FindingId::master_next_door:
      return part_from_next_door();
  }
  return {};
}

std::string Narrator::caution_for_switches() {
  return fmt::format(" If the plate has to be opened for that: {}", safety_caution);
}

const ModuleMemory& Narrator::memory(DeviceId module) const {
  return world_.modules[site().module_index(module)].memory;
}

// --- words ---

std::string Narrator::list(std::vector<std::string> names) {
  if (names.size() < 2) return names.empty() ? "the others" : names.front();
  const std::string last = names.back();
  names.pop_back();
  return fmt::format("{} and {}", fmt::join(names, ", "), last);
}

std::string Narrator::names(std::size_t from) const {
  std::vector<std::string> all;
  for (std::size_t i = from; i < observation_.devices.size(); ++i)
    all.push_back(site().name(observation_.devices[i]));
  return list(std::move(all));
}

std::string_view Narrator::tense(std::string_view now, std::string_view then) const {
  return observation_.until ? then : now;
}

std::string Narrator::intended(DeviceId module) const {
  const auto& wanted = site().modules[site().module_index(module)].intended;
  return wanted ? to_string(*wanted) : "none";
}

std::string Narrator::to_setup(DeviceId device, bool capital) const {
  return way_into_setup(site(), device, capital);
}

std::string Narrator::any_button(DeviceId device) const {
  return site().is_plate(device) ? fmt::format("any button of {}", site().name(device))
                                 : buttons_text(site(), device, 1);
}

// --- what was so then, not what is so at the end ---

Address Narrator::address_then(DeviceId module) const {
  const sim::EntryId last = last_before([module](const sim::Entry& entry) {
    return entry.who == module && ((what(entry) == What::stored && entry.b != 0) || lost_memory(entry));
  });
  if (last == sim::no_entry) return site().modules[site().module_index(module)].memory.address;
  return what(record_[last]) == What::stored ? stored_address(record_[last])
                                             : factory_memory(site().module_family(module)).address;
}

std::uint32_t Narrator::site_number_then(DeviceId plate) const {
  const sim::EntryId last = last_before(
      [plate](const sim::Entry& entry) { return entry.who == plate && what(entry) == What::switches; });
  return last == sim::no_entry ? site().plates[plate].site : record_[last].a;
}

// --- how it came, with times ---

std::string Narrator::told_step(sim::EntryId id) const {
  const sim::Entry& began = record_[id];
  const Person& person = scenario_.people[began.who];
  return fmt::format("{}{} at {}", began.who == 0 ? "" : person.name + ": ",
                     describe(scenario_, person.script[began.a]), clock_text(began.at));
}

bool Narrator::is_the_step_itself(sim::EntryId id) const {
  const What kind = what(record_[id]);
  return kind == What::switches || kind == What::link || kind == What::power || kind == What::stuck;
}

std::string Narrator::in_brackets(sim::EntryId id) const {
  const sim::EntryId step = step_behind(record_, id);
  if (step == sim::no_entry) return {};
  const sim::Entry& began = record_[step];
  if (is_the_step_itself(id))
    return began.who == 0 ? "" : fmt::format(" ({})", scenario_.people[began.who].name);
  const sim::Entry& entry = record_[id];
  const bool by_itself =
      what(entry) == What::mode && static_cast<ModeReason>(entry.b) == ModeReason::time_out;
  return fmt::format(" ({}{})", by_itself ? "it had begun with: " : "", told_step(step));
}

std::string Narrator::sentence(sim::EntryId id, bool with_step) const {
  return fmt::format(" At {} {}{}.", clock_text(record_[id].at), describe(scenario_, record_[id]),
                     with_step ? in_brackets(id) : "");
}

std::string Narrator::how_it_came() const {
  std::string text;
  sim::EntryId told = sim::no_entry;
  for (const sim::EntryId id : observation_.evidence) {
    if (what(record_[id]) == What::step || what(record_[id]) == What::arrived) continue;
    const sim::EntryId step = step_behind(record_, id);
    text += sentence(id, step != told);
    told = step;
  }
  return text.empty()
             ? fmt::format(" It {} so from {} on.", tense("has been", "was"), clock_text(observation_.at))
             : text;
}

sim::EntryId Narrator::evidence_of(DeviceId device, What kind) const {
  const auto at =
      std::find_if(observation_.evidence.begin(), observation_.evidence.end(),
                   [&](sim::EntryId id) { return record_[id].who == device && what(record_[id]) == kind; });
  return at == observation_.evidence.end() ? sim::no_entry : *at;
}

Finding in_words(const Scenario& scenario, const World& world, const sim::Record& record,
                 const Observation& observation) {
  const Narrator narrator{scenario, world, record, observation};
  return {observation.id,       observation.at,  observation.until, observation.devices,
          observation.evidence, narrator.text(), narrator.remedy()};
}

}  // namespace drybus::model
