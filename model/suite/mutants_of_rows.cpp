// One thing wrong in the rows of a family's machines, by operators that know no family: dropped, negated, swapped.
#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "model/devices/device.h"
#include "model/family/machine_words.h"
#include "model/suite/mutants.h"

namespace drybus::model {

namespace {

using Edit = std::function<void(Machine&)>;

/// All mutants of one machine.
class RowMutants {
 public:
  RowMutants(const Family& family, DeviceKind kind, std::vector<Mutant>& all)
      : family_(family), kind_(kind), machine_(machine_of(family, kind)), all_(all) {}

  void add_all() {
    for (std::size_t i = 0; i < machine_.rows.size(); ++i) add_row(i);
    for (std::size_t i = 0; i < machine_.states.size(); ++i) add_state(i);
    for (std::size_t i = 0; i + 1 < machine_.order.size(); ++i) {
      add(0, fmt::format("'{}' shows before '{}'", to_string(machine_.order[i + 1]), to_string(machine_.order[i])),
          [i](Machine& machine) { std::swap(machine.order[i], machine.order[i + 1]); });
    }
  }

 private:
  void add(std::uint32_t line, std::string what, Edit edit) {
    const std::string place = line == 0 ? std::string{} : fmt::format(" line {},", line);
    const auto change = [kind = kind_, edit = std::move(edit)](Family& family) {
      Machine& machine = machine_of(family, kind);
      edit(machine);
      machine.compile();
    };
    all_.push_back({fmt::format("{}, {}:{} {}", family_.name, to_string(kind_), place, what), family_.name, change, kind_});
  }

  /// "setup, assign heard, if offer whole"
  [[nodiscard]] std::string name_of(const MachineRow& row) const {
    std::string text = row.in == any_state ? "any" : machine_.states[row.in].name;
    text += fmt::format(", {}", to_string(row.on));
    for (const Guard& guard : row.when) text += fmt::format(", if {}", to_string(guard));
    return text;
  }

  void add_row(std::size_t index) {
    const MachineRow& row = machine_.rows[index];
    const std::string name = name_of(row);
    add(row.line, fmt::format("'{}' dropped", name), [index](Machine& machine) {
      machine.rows.erase(machine.rows.begin() + static_cast<std::ptrdiff_t>(index));
    });
    for (std::size_t g = 0; g < row.when.size(); ++g) {
      add(row.line, fmt::format("'{}' without '{}'", name, to_string(row.when[g])), [index, g](Machine& machine) {
        auto& when = machine.rows[index].when;
        when.erase(when.begin() + static_cast<std::ptrdiff_t>(g));
      });
      add(row.line, fmt::format("'{}' with '{}' the other way", name, to_string(row.when[g])),
          [index, g](Machine& machine) {
            bool& holds = machine.rows[index].when[g].holds;
            holds = !holds;
          });
    }
    add_actions(row.line, name, row.does, [index](Machine& machine) -> auto& { return machine.rows[index].does; });
    add_targets(index, name);
    add_precedence(index, name);
  }

  /// The next in the table of actions that such a device can do; one that is done to the same kind of thing if there is one.
  [[nodiscard]] Action another_than(const Action& action) const {
    const auto words = action_words();
    const auto at = std::find_if(words.begin(), words.end(), [&](const ActionWord& word) { return word.action == action; });
    const auto next = [&](bool same_verb) -> std::optional<Action> {
      for (std::size_t i = 1; i < words.size(); ++i) {
        const ActionWord& word = words[(static_cast<std::size_t>(at - words.begin()) + i) % words.size()];
        if (!can_use(word.used_by, kind_ == DeviceKind::plate) || !has_its_time(word.action)) continue;
        if (!same_verb || word.action.verb == action.verb) return word.action;
      }
      return std::nullopt;
    };
    return next(true).value_or(next(false).value_or(action));
  }

  /// A time that the family does not say cannot be started.
  [[nodiscard]] bool has_its_time(const Action& action) const {
    const auto starts = [&](Timer timer) { return action == Action{Verb::start, static_cast<std::uint8_t>(timer)}; };
    if (starts(Timer::ask)) return family_.module.ask > sim::Duration::zero();
    if (starts(Timer::confirm)) return family_.module.confirm > sim::Duration::zero();
    return action.verb != Verb::count_up || family_.module.supply_gesture.times != 0;
  }

  template <class Which>
  void add_actions(std::uint32_t line, const std::string& name, const std::vector<Action>& actions, Which which) {
    for (std::size_t a = 0; a < actions.size(); ++a) {
      add(line, fmt::format("'{}' does not '{}'", name, to_string(actions[a])), [which, a](Machine& machine) {
        auto& does = which(machine);
        does.erase(does.begin() + static_cast<std::ptrdiff_t>(a));
      });
      const Action other = another_than(actions[a]);
      add(line, fmt::format("'{}' does '{}' instead of '{}'", name, to_string(other), to_string(actions[a])),
          [which, a, other](Machine& machine) { which(machine)[a] = other; });
    }
  }

  void add_targets(std::size_t index, const std::string& name) {
    const MachineRow& row = machine_.rows[index];
    if (row.to == same_state) return;
    add(row.line, fmt::format("'{}' stays where it is", name),
        [index](Machine& machine) { machine.rows[index].to = same_state; });
    for (StateIndex other = 0; other < machine_.states.size(); ++other) {
      if (other == row.to || other == row.in) continue;
      add(row.line, fmt::format("'{}' leads to '{}'", name, machine_.states[other].name),
          [index, other](Machine& machine) { machine.rows[index].to = other; });
    }
  }

  /// The next row of the same event that could be taken in the same state comes first.
  void add_precedence(std::size_t index, const std::string& name) {
    const MachineRow& row = machine_.rows[index];
    for (std::size_t later = index + 1; later < machine_.rows.size(); ++later) {
      const MachineRow& other = machine_.rows[later];
      const bool meet = row.in == other.in || row.in == any_state || other.in == any_state;
      if (other.on != row.on || !meet) continue;
      add(row.line, fmt::format("'{}' comes after '{}'", name, name_of(other)),
          [index, later](Machine& machine) { std::swap(machine.rows[index], machine.rows[later]); });
      return;
    }
  }

  void add_state(std::size_t index) {
    const MachineState& state = machine_.states[index];
    add_actions(state.line, state.name + " on entry", state.entry,
                [index](Machine& machine) -> auto& { return machine.states[index].entry; });
    add_actions(state.line, state.name + " on exit", state.exit,
                [index](Machine& machine) -> auto& { return machine.states[index].exit; });
    if (state.shows == Pattern::dark) return;
    add(state.line, fmt::format("'{}' shows nothing", state.name),
        [index](Machine& machine) { machine.states[index].shows = Pattern::dark; });
  }

  const Family& family_;
  DeviceKind kind_;
  const Machine& machine_;
  std::vector<Mutant>& all_;
};

}  // namespace

std::vector<Mutant> mutants_of_rows(const Family& family) {
  std::vector<Mutant> all;
  RowMutants{family, DeviceKind::plate, all}.add_all();
  RowMutants{family, DeviceKind::module, all}.add_all();
  return all;
}

}  // namespace drybus::model
