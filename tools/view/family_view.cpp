#include "tools/view/family_view.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "model/devices/device.h"
#include "model/family/machine_words.h"
#include "model/family/switch_bank.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

namespace {

using model::Buttons;
using model::duration_text;
using model::Family;
using model::in_words_spoken;
using model::Machine;
using model::MachineRow;
using model::MachineState;
using model::msg;
using model::plural;
using model::tr;

std::string block(std::string_view before, std::string_view text, std::size_t indent) {
  return paragraph(text, told_width, before, std::string(indent, ' '));
}

template <class Values, class Word>
std::string joined(const Values& values, std::string_view between, Word word) {
  std::string text;
  for (const auto& value : values) text += fmt::format("{}{}", text.empty() ? "" : between, word(value));
  return text;
}

// Words of family files as the panel says them, too.
std::string_view spoken(model::Pattern pattern) {
  return in_words_spoken(to_string(pattern), "pattern");
}

std::string_view spoken(model::Mode mode) {
  return in_words_spoken(to_string(mode));
}

std::string_view spoken(model::PowerUp power_up) {
  return in_words_spoken(to_string(power_up), "power-up");
}

std::string bank_text(const model::SwitchBank& bank) {
  const bool binary = bank.kind == model::SwitchBank::Kind::binary;
  return binary ? plural("{} binary switches, 0 to {}", "{} binary switches, 0 to {}", bank.count, bank.count,
                         bank.largest())
                : plural("{} dials, 0 to {}", "{} dials, 0 to {}", bank.count, bank.count, bank.largest());
}

std::string buttons_text(const model::PlateFamily& plate, Buttons set) {
  std::string text;
  for (std::size_t i = 0; i < plate.buttons.size(); ++i) {
    if ((set & model::only(static_cast<model::Button>(i))) == 0) continue;
    text += std::string{text.empty() ? "" : in_words_spoken(msg(" and "))} + plate.buttons[i];
  }
  return text;
}

std::string time_out_text(const model::TimeOut& time_out) {
  const std::string after = duration_text(time_out.after);
  return time_out.from == model::CountedFrom::entry ? tr("{} from entry", after)
                                                    : tr("{} from the last press", after);
}

std::string memory_text(const model::Memory& memory) {
  std::string kept;
  const auto add = [&](bool is_kept, const std::string& part) {
    if (is_kept) kept.append(kept.empty() ? "" : ", ").append(part);
  };
  add(memory.address, tr("address"));
  add(memory.scenes, tr("scenes"));
  add(memory.power_up, tr("power-up mode"));
  add(memory.last_level, tr("last level"));
  const std::string remembered = kept.empty() ? tr("nothing is remembered") : tr("remembered are {}", kept);
  return memory.torn_write == model::TornWrite::factory
             ? tr("{}; a write that it met leaves all as from the factory", remembered)
             : tr("{}; a write that it met has not happened", remembered);
}

/// Every number and binding of a family by its name, in the order in which they are told.
std::vector<std::pair<std::string, std::string>> values_of(const Family& family) {
  const model::PlateFamily& plate = family.plate;
  const model::ModuleFamily& module = family.module;
  std::vector<std::pair<std::string, std::string>> values;
  const auto add = [&](std::string name, std::string value) {
    values.emplace_back(std::move(name), std::move(value));
  };
  add(tr("plate: buttons"), joined(plate.buttons, ", ", [](const std::string& name) { return name; }));
  add(tr("plate: site switches"), bank_text(plate.site_switches));
  add(tr("plate: zone switches"), bank_text(plate.zone_switches));
  add(tr("plate: channels"), fmt::format("{}", plate.channels));
  add(tr("plate: held for setup"),
      tr("{}, for {}", buttons_text(plate, plate.setup_gesture), duration_text(plate.setup_hold)));
  add(tr("plate: time-out"), time_out_text(plate.time_out));
  add(tr("plate: a beacon every"), duration_text(plate.beacon));
  add(tr("plate: in setup"),
      tr("next {}, previous {}, identify {}, assign {}, leave {}", plate.name_of(plate.next),
         plate.name_of(plate.previous), plate.name_of(plate.identify), plate.name_of(plate.assign),
         plate.name_of(plate.leave)));
  for (std::size_t i = 0; i < plate.buttons.size(); ++i) {
    const std::string held =
        plate.hold[i].command == model::Command::nothing
            ? std::string{}
            : tr("; held for {}: {}", duration_text(plate.long_press), spoken(plate.hold[i]));
    add(tr("plate: {} in normal mode", plate.buttons[i]), spoken(plate.press[i]) + held);
  }
  add(tr("module: button"), module.button.empty() ? tr("none") : module.button);
  add(tr("module: way into setup"),
      module.supply_gesture.times != 0
          ? tr("the supply comes on {} times, each time for less than {}", module.supply_gesture.times,
               duration_text(module.supply_gesture.on_for))
          : tr("held for {}", duration_text(module.setup_hold)));
  add(tr("module: time-out"), time_out_text(module.time_out));
  if (module.ask > sim::Duration::zero()) add(tr("module: it asks every"), duration_text(module.ask));
  if (module.confirm > sim::Duration::zero())
    add(tr("module: an offer can be confirmed for"), duration_text(module.confirm));
  add(tr("module: a write to memory takes"), duration_text(module.store));
  add(tr("module: the load shows itself for"), duration_text(module.flash));
  add(tr("module: a fade takes"), duration_text(module.fade));
  add(tr("module: raise and lower, end to end"), duration_text(module.full_range));
  add(tr("module: scenes"), fmt::format("{}", module.scenes));
  if (module.group != 0) add(tr("module: zones in a group"), fmt::format("{}", module.group));
  add(tr("module: from the factory"),
      module.factory_scenes
          ? tr("site {}, power-up {}", module.factory_site, spoken(module.factory_power_up))
          : tr("site {}, power-up {}, no scenes", module.factory_site, spoken(module.factory_power_up)));
  add(tr("module: after a power cut"), memory_text(module.memory));
  add(tr("lamp: steady after identify"), duration_text(family.indicator.identify));
  add(tr("lamp: refuse"), duration_text(family.indicator.refuse));
  add(tr("lamp: breathe after a beacon"), duration_text(family.indicator.breathe));
  add(tr("lamp: blip"), duration_text(family.indicator.blip));
  add(tr("lamp: blips sleep after"), duration_text(family.indicator.blips_sleep));
  add(tr("contacts: settle within"), duration_text(family.debounce));
  add(tr("contacts: stuck after"), duration_text(family.stuck_after));
  add(tr("clock: off by at most"),
      model::with_decimal_mark(fmt::format("{} ppm", family.clock_tolerance_ppb / 1000.0)));
  add(tr("bus"), family.medium == sim::MediumKind::radio ? tr("radio, {} bit/s", family.bus.bit_rate)
                                                         : tr("line, {} bit/s", family.bus.bit_rate));
  return values;
}

std::string state_name(const Machine& machine, model::StateIndex state) {
  return state == model::any_state ? tr("any state") : machine.states[state].name;
}

std::string patterns_in_order(const Machine& machine) {
  return joined(machine.order, ", ", [](model::Pattern pattern) { return spoken(pattern); });
}

/// `lamp`: which of its patterns the lamp shows.
std::string machine_text(const Machine& machine, const std::string& lamp) {
  std::string text = "\n" + lamp + "\n";
  const auto rows_in = [&](model::StateIndex state) {
    std::string rows;
    for (const MachineRow& row : machine.rows) {
      if (row.in != state) continue;
      rows += block("    ", fmt::format("{}: {}", spoken(row.on), spoken(machine, row)), 6);
    }
    return rows;
  };
  for (std::size_t i = 0; i < machine.states.size(); ++i) {
    const MachineState& state = machine.states[i];
    text += tr("  {} ({} mode, lamp {})\n", state.name, spoken(state.mode), spoken(state.shows));
    if (!state.entry.empty()) text += block("    ", tr("on entry: {}", spoken(state.entry)), 6);
    text += rows_in(static_cast<model::StateIndex>(i));
    if (!state.exit.empty()) text += block("    ", tr("on exit: {}", spoken(state.exit)), 6);
  }
  return text + "  " + tr("in any state") + "\n" + rows_in(model::any_state);
}

/// Rows as lines that can be compared: where, on what, under which condition.
std::map<std::string, std::string> rows_by_case(const Machine& machine) {
  std::map<std::string, std::string> rows;
  for (const MachineRow& row : machine.rows) {
    std::string name = fmt::format("{}, {}", state_name(machine, row.in), spoken(row.on));
    if (!row.when.empty())
      name += tr(", if {}", joined(row.when, in_words_spoken(msg(" and ")),
                                   [](const model::Guard& guard) { return spoken(guard); }));
    std::string does = spoken(row.does);
    if (row.to != model::same_state)
      does += (does.empty() ? "" : ", ") + tr("to {}", machine.states[row.to].name);
    rows.emplace(std::move(name), does.empty() ? tr("nothing") : std::move(does));
  }
  for (const MachineState& state : machine.states) {
    rows.emplace(tr("{}, its mode and lamp", state.name),
                 fmt::format("{}, {}", spoken(state.mode), spoken(state.shows)));
    rows.emplace(tr("{}, on entry", state.name), spoken(state.entry));
    rows.emplace(tr("{}, on exit", state.name), spoken(state.exit));
  }
  rows.emplace(tr("what shows first"), patterns_in_order(machine));
  return rows;
}

/// `of_plates`: machines of plates, otherwise of modules.
void compare_machines(const Machine& one, const Machine& other, bool of_plates,
                      std::vector<FamilyDifference>& differences) {
  const auto first = rows_by_case(one);
  const auto second = rows_by_case(other);
  std::set<std::string> names;
  for (const auto& [name, does] : first) names.insert(name);
  for (const auto& [name, does] : second) names.insert(name);
  const auto of = [](const auto& rows, const std::string& name) {
    const auto found = rows.find(name);
    return found == rows.end() ? tr("no such row") : found->second.empty() ? tr("nothing") : found->second;
  };
  for (const std::string& name : names) {
    if (of(first, name) == of(second, name)) continue;
    differences.push_back(
        {of_plates ? tr("plate: {}", name) : tr("module: {}", name), of(first, name), of(second, name)});
  }
}

}  // namespace

std::string family_text(const Family& family) {
  std::string text = fmt::format("{}\n\n", family.name);
  for (const auto& [name, value] : values_of(family))
    text += block(fmt::format("  {:<38} ", name), value, 41);
  const Machine &plate = family.plate.machine, &module = family.module.machine;
  return text +
         machine_text(plate, tr("A plate: its lamp shows the first of these that applies: {}",
                                patterns_in_order(plate))) +
         machine_text(module, tr("A module: its lamp shows the first of these that applies: {}",
                                 patterns_in_order(module)));
}

std::string remarks_text(const std::vector<model::MachineRemark>& remarks, std::string_view file) {
  std::string text;
  for (const model::MachineRemark& remark : remarks) {
    const std::string place = remark.line == 0 ? std::string{file} : fmt::format("{}:{}", file, remark.line);
    text += (remark.plate ? tr("{}: the machine of a plate: {}", place, remark.text)
                          : tr("{}: the machine of a module: {}", place, remark.text)) +
            "\n";
    if (!remark.expected.empty()) text += "    " + tr("expected {}", remark.expected) + "\n";
  }
  return text;
}

std::vector<FamilyDifference> differences(const Family& one, const Family& other) {
  std::vector<FamilyDifference> parts;
  const auto first = values_of(one);
  const auto second = values_of(other);
  std::map<std::string, std::string> by_name(second.begin(), second.end());
  for (const auto& [name, value] : first) {
    const auto found = by_name.find(name);
    const std::string there = found == by_name.end() ? tr("nothing of the kind") : found->second;
    if (there != value) parts.push_back({name, value, there});
    if (found != by_name.end()) by_name.erase(found);
  }
  for (const auto& [name, value] : second) {
    if (by_name.contains(name)) parts.push_back({name, tr("nothing of the kind"), value});
  }
  compare_machines(one.plate.machine, other.plate.machine, true, parts);
  compare_machines(one.module.machine, other.module.machine, false, parts);
  return parts;
}

}  // namespace drybus::tools
