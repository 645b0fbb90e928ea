#include "tools/view/family_view.h"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "model/devices/device.h"
#include "model/family/machine_words.h"
#include "model/family/switch_bank.h"
#include "model/record/describe.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

namespace {

using model::Buttons;
using model::duration_text;
using model::Family;
using model::Machine;
using model::MachineRow;
using model::MachineState;

std::string block(std::string_view before, std::string_view text, std::size_t indent) {
  return paragraph(text, told_width, before, std::string(indent, ' '));
}

template <class Values, class Word>
std::string joined(const Values& values, std::string_view between, Word word) {
  std::string text;
  for (const auto& value : values) text += fmt::format("{}{}", text.empty() ? "" : between, word(value));
  return text;
}

std::string bank_text(const model::SwitchBank& bank) {
  const bool binary = bank.kind == model::SwitchBank::Kind::binary;
  return fmt::format("{} {}, 0 to {}", bank.count, binary ? "binary switches" : "dials", bank.largest());
}

std::string buttons_text(const model::PlateFamily& plate, Buttons set) {
  std::string text;
  for (std::size_t i = 0; i < plate.buttons.size(); ++i) {
    if ((set & model::only(static_cast<model::Button>(i))) == 0) continue;
    text += (text.empty() ? "" : " and ") + plate.buttons[i];
  }
  return text;
}

std::string time_out_text(const model::TimeOut& time_out) {
  return fmt::format("{} from {}", duration_text(time_out.after),
                     time_out.from == model::CountedFrom::entry ? "entry" : "the last press");
}

std::string memory_text(const model::Memory& memory) {
  std::string kept;
  const auto add = [&](bool is_kept, std::string_view part) {
    if (is_kept) kept.append(kept.empty() ? "" : ", ").append(part);
  };
  add(memory.address, "address");
  add(memory.scenes, "scenes");
  add(memory.power_up, "power-up mode");
  add(memory.last_level, "last level");
  return fmt::format(
      "{}; a write that it met {}", kept.empty() ? "nothing is remembered" : "remembered are " + kept,
      memory.torn_write == model::TornWrite::factory ? "leaves all as from the factory" : "has not happened");
}

/// Every number and binding of a family by its name, in the order in which they are told.
std::vector<std::pair<std::string, std::string>> values_of(const Family& family) {
  const model::PlateFamily& plate = family.plate;
  const model::ModuleFamily& module = family.module;
  std::vector<std::pair<std::string, std::string>> values;
  const auto add = [&](std::string name, std::string value) {
    values.emplace_back(std::move(name), std::move(value));
  };
  add("plate: buttons", joined(plate.buttons, ", ", [](const std::string& name) { return name; }));
  add("plate: site switches", bank_text(plate.site_switches));
  add("plate: zone switches", bank_text(plate.zone_switches));
  add("plate: channels", fmt::format("{}", plate.channels));
  add("plate: held for setup",
      fmt::format("{}, for {}", buttons_text(plate, plate.setup_gesture), duration_text(plate.setup_hold)));
  add("plate: time-out", time_out_text(plate.time_out));
  add("plate: a beacon every", duration_text(plate.beacon));
  add("plate: in setup",
      fmt::format("next {}, previous {}, identify {}, assign {}, leave {}", plate.name_of(plate.next),
                  plate.name_of(plate.previous), plate.name_of(plate.identify), plate.name_of(plate.assign),
                  plate.name_of(plate.leave)));
  for (std::size_t i = 0; i < plate.buttons.size(); ++i) {
    const std::string held =
        plate.hold[i].command == model::Command::nothing
            ? std::string{}
            : fmt::format("; held for {}: {}", duration_text(plate.long_press), to_string(plate.hold[i]));
    add(fmt::format("plate: {} in normal mode", plate.buttons[i]), to_string(plate.press[i]) + held);
  }
  add("module: button", module.button.empty() ? "none" : module.button);
  add("module: way into setup",
      module.supply_gesture.times != 0
          ? fmt::format("the supply comes on {} times, each time for less than {}",
                        module.supply_gesture.times, duration_text(module.supply_gesture.on_for))
          : fmt::format("held for {}", duration_text(module.setup_hold)));
  add("module: time-out", time_out_text(module.time_out));
  if (module.ask > sim::Duration::zero()) add("module: it asks every", duration_text(module.ask));
  if (module.confirm > sim::Duration::zero())
    add("module: an offer can be confirmed for", duration_text(module.confirm));
  add("module: a write to memory takes", duration_text(module.store));
  add("module: the load shows itself for", duration_text(module.flash));
  add("module: a fade takes", duration_text(module.fade));
  add("module: raise and lower, end to end", duration_text(module.full_range));
  add("module: scenes", fmt::format("{}", module.scenes));
  if (module.group != 0) add("module: zones in a group", fmt::format("{}", module.group));
  add("module: from the factory",
      fmt::format("site {}, power-up {}{}", module.factory_site, to_string(module.factory_power_up),
                  module.factory_scenes ? "" : ", no scenes"));
  add("module: after a power cut", memory_text(module.memory));
  add("lamp: steady after identify", duration_text(family.indicator.identify));
  add("lamp: refuse", duration_text(family.indicator.refuse));
  add("lamp: breathe after a beacon", duration_text(family.indicator.breathe));
  add("lamp: blip", duration_text(family.indicator.blip));
  add("lamp: blips sleep after", duration_text(family.indicator.blips_sleep));
  add("contacts: settle within", duration_text(family.debounce));
  add("contacts: stuck after", duration_text(family.stuck_after));
  add("clock: off by at most", fmt::format("{} ppm", family.clock_tolerance_ppb / 1000.0));
  add("bus", fmt::format("{}, {} bit/s", family.medium == sim::MediumKind::radio ? "radio" : "line",
                         family.bus.bit_rate));
  return values;
}

std::string state_name(const Machine& machine, model::StateIndex state) {
  return state == model::any_state ? "any state" : machine.states[state].name;
}

std::string machine_text(const Machine& machine, std::string_view kind) {
  std::string text = fmt::format("\n{}: its lamp shows the first of these that applies: {}\n", kind,
                                 joined(machine.order, ", ", [](model::Pattern p) { return to_string(p); }));
  const auto rows_in = [&](model::StateIndex state) {
    std::string rows;
    for (const MachineRow& row : machine.rows) {
      if (row.in != state) continue;
      rows += block("    ", fmt::format("{}: {}", to_string(row.on), model::to_string(machine, row)), 6);
    }
    return rows;
  };
  for (std::size_t i = 0; i < machine.states.size(); ++i) {
    const MachineState& state = machine.states[i];
    text +=
        fmt::format("  {} ({} mode, lamp {})\n", state.name, to_string(state.mode), to_string(state.shows));
    if (!state.entry.empty()) text += block("    ", "on entry: " + to_string(state.entry), 6);
    text += rows_in(static_cast<model::StateIndex>(i));
    if (!state.exit.empty()) text += block("    ", "on exit: " + to_string(state.exit), 6);
  }
  return text + "  in any state\n" + rows_in(model::any_state);
}

/// Rows as lines that can be compared: where, on what, under which condition.
std::map<std::string, std::string> rows_by_case(const Machine& machine) {
  std::map<std::string, std::string> rows;
  for (const MachineRow& row : machine.rows) {
    std::string name = fmt::format("{}, {}", state_name(machine, row.in), to_string(row.on));
    if (!row.when.empty())
      name += ", if " + joined(row.when, " and ", [](const model::Guard& guard) { return to_string(guard); });
    std::string does = to_string(row.does);
    if (row.to != model::same_state)
      does += fmt::format("{}to {}", does.empty() ? "" : ", ", machine.states[row.to].name);
    rows.emplace(std::move(name), does.empty() ? "nothing" : std::move(does));
  }
  for (const MachineState& state : machine.states) {
    rows.emplace(fmt::format("{}, its mode and lamp", state.name),
                 fmt::format("{}, {}", to_string(state.mode), to_string(state.shows)));
    rows.emplace(fmt::format("{}, on entry", state.name), to_string(state.entry));
    rows.emplace(fmt::format("{}, on exit", state.name), to_string(state.exit));
  }
  rows.emplace("what shows first",
               joined(machine.order, ", ", [](model::Pattern p) { return to_string(p); }));
  return rows;
}

void compare_machines(const Machine& one, const Machine& other, std::string_view kind,
                      std::vector<FamilyDifference>& differences) {
  const auto first = rows_by_case(one);
  const auto second = rows_by_case(other);
  std::set<std::string> names;
  for (const auto& [name, does] : first) names.insert(name);
  for (const auto& [name, does] : second) names.insert(name);
  const auto of = [](const auto& rows, const std::string& name) {
    const auto found = rows.find(name);
    return found == rows.end()     ? std::string{"no such row"}
           : found->second.empty() ? "nothing"
                                   : found->second;
  };
  for (const std::string& name : names) {
    if (of(first, name) == of(second, name)) continue;
    differences.push_back({fmt::format("{}: {}", kind, name), of(first, name), of(second, name)});
  }
}

}  // namespace

std::string family_text(const Family& family) {
  std::string text = fmt::format("{}\n\n", family.name);
  for (const auto& [name, value] : values_of(family))
    text += block(fmt::format("  {:<38} ", name), value, 41);
  return text + machine_text(family.plate.machine, "A plate") +
         machine_text(family.module.machine, "A module");
}

std::string remarks_text(const std::vector<model::MachineRemark>& remarks, std::string_view file) {
  std::string text;
  for (const model::MachineRemark& remark : remarks) {
    const std::string place = remark.line == 0 ? std::string{file} : fmt::format("{}:{}", file, remark.line);
    text +=
        fmt::format("{}: the machine of a {}: {}\n", place, remark.plate ? "plate" : "module", remark.text);
    if (!remark.expected.empty()) text += fmt::format("    expected {}\n", remark.expected);
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
    const std::string there = found == by_name.end() ? "nothing of the kind" : found->second;
    if (there != value) parts.push_back({name, value, there});
    if (found != by_name.end()) by_name.erase(found);
  }
  for (const auto& [name, value] : second) {
    if (by_name.contains(name)) parts.push_back({name, "nothing of the kind", value});
  }
  compare_machines(one.plate.machine, other.plate.machine, "plate", parts);
  compare_machines(one.module.machine, other.module.machine, "module", parts);
  return parts;
}

}  // namespace drybus::tools
