#include "model/suite/coverage.h"

#include <algorithm>
#include <functional>

#include "model/devices/take_row.h"

namespace drybus::model {

namespace {

bool can_start(const Action& action, Timer timer) {
  switch (timer) {
    case Timer::time_out:
    case Timer::beacon:
    case Timer::ask:
    case Timer::confirm:
      return action == Action{Verb::start, static_cast<std::uint8_t>(timer)};
    case Timer::refuse:
      return action.verb == Verb::refuse;
    case Timer::steady:
      return action == Action{Verb::show, static_cast<std::uint8_t>(Pattern::steady)};
    case Timer::breathe:
      return action == Action{Verb::show, static_cast<std::uint8_t>(Pattern::breathe)};
    case Timer::blip:
      return action.verb == Verb::blip;
    case Timer::sleep:
      return action.verb == Verb::wake;
    case Timer::flash:
      return action.verb == Verb::flash;
    case Timer::store:
      return action.verb == Verb::store_address || action.verb == Verb::store_power_up || action.verb == Verb::store_scene;
    case Timer::count:
      return action.verb == Verb::count_up;
    case Timer::debounce:
    case Timer::hold:
      return false;  // begun by a contact, not by a row
  }
  return false;
}

bool can_show_by(const Action& action, Pattern pattern) {
  return (pattern == Pattern::blip && action.verb == Verb::blip) ||
         (pattern == Pattern::refuse && action.verb == Verb::refuse) ||
         action == Action{Verb::show, static_cast<std::uint8_t>(pattern)};
}

template <class Does>
bool some_action(const Machine& machine, Does does) {
  const auto any = [&](const std::vector<Action>& actions) { return std::any_of(actions.begin(), actions.end(), does); };
  return std::any_of(machine.rows.begin(), machine.rows.end(), [&](const MachineRow& row) { return any(row.does); }) ||
         std::any_of(machine.states.begin(), machine.states.end(),
                     [&](const MachineState& state) { return any(state.entry) || any(state.exit); });
}

/// Whether a button can be held for anything.
bool has_holds(const Family& family, DeviceKind kind) {
  if (kind == DeviceKind::module) return family.module.setup_hold > sim::Duration::zero();
  return family.plate.setup_gesture != 0 ||
         std::any_of(family.plate.hold.begin(), family.plate.hold.end(),
                     [](const Binding& binding) { return binding.command != Command::nothing; });
}

template <class Counts>
void add_up(Counts& sum, const Counts& other) {
  std::transform(sum.begin(), sum.end(), other.begin(), sum.begin(), std::plus<>{});
}

template <class Counts, class Possible>
std::size_t holes_in(const Counts& counts, const Possible& possible) {
  std::size_t holes = 0;
  auto can = possible.begin();
  for (const std::uint64_t count : counts) holes += (*can++ && count == 0) ? 1U : 0U;
  return holes;
}

}  // namespace

MachineVisits::MachineVisits(const Family& family, DeviceKind kind)
    : machine(machine_of(family, kind)), rows(machine.rows.size()), states(machine.states.size()) {
  for (const Pattern pattern : sim::all_of<Pattern>()) {
    const bool has_place =
        pattern == Pattern::dark || std::find(machine.order.begin(), machine.order.end(), pattern) != machine.order.end();
    can_show[pattern] =
        has_place && (std::any_of(machine.states.begin(), machine.states.end(),
                                  [&](const MachineState& state) { return state.shows == pattern; }) ||
                      some_action(machine, [&](const Action& action) { return can_show_by(action, pattern); }));
  }
  for (const Timer timer : sim::all_of<Timer>()) {
    can_run[timer] = some_action(machine, [&](const Action& action) { return can_start(action, timer); });
  }
  can_run[Timer::hold] = has_holds(family, kind);
  can_run[Timer::debounce] = kind == DeviceKind::plate || !family.module.button.empty();
}

void MachineVisits::count(const Stimulus& stimulus, StateIndex state, Pattern shown, const RowsTaken& taken) {
  for (const std::uint16_t row : taken) ++rows[row];
  ++states[state];
  ++patterns[shown];
  if (stimulus.kind == Stimulus::Kind::timer) ++timers[stimulus.timer];
}

void MachineVisits::add(const MachineVisits& other) {
  add_up(rows, other.rows);
  add_up(states, other.states);
  add_up(patterns, other.patterns);
  add_up(timers, other.timers);
}

std::size_t MachineVisits::holes() const {
  const auto never = [](const std::vector<std::uint64_t>& counts) {
    return static_cast<std::size_t>(std::count(counts.begin(), counts.end(), std::uint64_t{0}));
  };
  return never(rows) + never(states) + holes_in(patterns, can_show) + holes_in(timers, can_run);
}

void Coverage::take_family(const Family& family) {
  families_.try_emplace(family.name, FamilyVisits{{family, DeviceKind::plate}, {family, DeviceKind::module}});
}

void Coverage::plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) {
  RowsTaken taken;
  react(turn.family(), stimulus, state, effects, &taken);
  const auto visits = families_.find(turn.family().name);
  if (visits == families_.end()) return;
  MachineVisits& plate = visits->second.plate;
  plate.count(stimulus, plate.machine.state_of(state.mode, state.stage), state.shown, taken);
}

void Coverage::module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state, Effects& effects) {
  RowsTaken taken;
  react(turn.family(), stimulus, state, effects, &taken);
  const auto visits = families_.find(turn.family().name);
  if (visits == families_.end()) return;
  MachineVisits& module = visits->second.module;
  module.count(stimulus, module.machine.state_of(state.mode, state.stage), state.shown, taken);
}

void Coverage::add(const Coverage& other) {
  for (const auto& [name, visits] : other.families_) {
    const auto [mine, fresh] = families_.try_emplace(name, visits);
    if (fresh) continue;
    mine->second.plate.add(visits.plate);
    mine->second.module.add(visits.module);
  }
}

std::size_t Coverage::holes() const {
  std::size_t sum = 0;
  for (const auto& [name, visits] : families_) sum += visits.plate.holes() + visits.module.holes();
  return sum;
}

}  // namespace drybus::model
