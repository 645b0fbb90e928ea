#include "model/devices/machine_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "model/devices/device.h"
#include "model/devices/module.h"
#include "model/devices/plate.h"
#include "model/devices/take_row.h"
#include "model/family/machine_words.h"
#include "model/family/telegram.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

/// A reaction may have this many effects for what a row does; the rest is for contacts, debounce and lamp.
constexpr std::size_t room_for_rows = Effects::capacity - 8;

/// The most effects that an action can have.
std::size_t effects_of(Verb verb) {
  switch (verb) {
    case Verb::start_at_channel:
    case Verb::keep_offer:
    case Verb::stop:
    case Verb::start:
    case Verb::send:
    case Verb::show:
    case Verb::stop_showing:
    case Verb::step_up:
    case Verb::step_down:
    case Verb::carry_out:
    case Verb::ignore_offer:
    case Verb::count_up:
    case Verb::count_afresh:
      return 1;
    case Verb::wake:
    case Verb::blip:
    case Verb::refuse:
    case Verb::store_address:
    case Verb::store_power_up:
    case Verb::store_scene:
    case Verb::flash:
      return 2;
    case Verb::light_full:
    case Verb::light_last:
      return 3;
    case Verb::fade_full:
    case Verb::fade_dark:
    case Verb::fade_scene:
    case Verb::raise:
    case Verb::lower:
    case Verb::halt:
      return 4;  // that the load obeys, the end of a flash, and the way to the new level
  }
  return 4;
}

std::size_t effects_of(const std::vector<Action>& actions) {
  std::size_t sum = 0;
  for (const Action& action : actions) sum += effects_of(action.verb);
  return sum;
}

constexpr bool is_heard(Event event) {
  return event >= Event::heard_beacon && event < Event::heard_anything;
}

constexpr TelegramKind kind_heard(Event event) {
  return static_cast<TelegramKind>(static_cast<int>(event) - static_cast<int>(Event::heard_beacon) + 1);
}

class MachineCheck {
 public:
  MachineCheck(const Family& family, bool plate, std::vector<MachineRemark>& remarks)
      : family_(family),
        plate_(plate),
        machine_(plate ? family.plate.machine : family.module.machine),
        remarks_(remarks) {}

  void check() {
    check_effects();
    check_times();
    check_states();
    check_rows();
    check_timers();
    check_patterns();
    if (plate_) check_buttons();
    check_telegrams();
    plate_ ? check_keys() : check_groups();
  }

 private:
  void add(bool wrong, std::uint32_t line, std::string text, std::string expected = {}) {
    remarks_.push_back({plate_, wrong, line, std::move(text), std::move(expected)});
  }
  void doubt(std::uint32_t line, std::string text, std::string expected = {}) {
    add(false, line, std::move(text), std::move(expected));
  }

  // --- what no device could be run with ---

  void check_effects() {
    std::size_t entering = 0;
    std::size_t leaving = 0;
    for (const MachineState& state : machine_.states) {
      entering = std::max(entering, effects_of(state.entry));
      leaving = std::max(leaving, effects_of(state.exit));
    }
    // Several events can fall into one moment: buttons go down together, a telegram means something and is heard.
    std::size_t sum = 0;
    for (const Event event : sim::all_of<Event>()) {
      std::size_t most = 0;
      std::uint32_t line = 0;
      for (const MachineRow& row : machine_.rows) {
        if (row.on != event) continue;
        const std::size_t all = effects_of(row.does) + (row.to == same_state ? 0 : entering + leaving + 1);
        if (all > most) most = all, line = row.line;
      }
      const bool together =
          event == Event::any_button || (plate_ && event >= Event::next && event <= Event::command);
      if (together) sum += most;
      if (most > room_for_rows / 2 || (together && sum > room_for_rows)) {
        add(true, line, tr("'{}': more is done here at once than a device can do", to_string(event)),
            tr("fewer actions in the row, or on entry to and exit from states"));
        return;
      }
    }
  }

  void check_times() {
    if (plate_) return;
    need_time(Timer::ask, family_.module.ask > sim::Duration::zero(), "ask");
    need_time(Timer::confirm, family_.module.confirm > sim::Duration::zero(), "confirm");
    const bool counts = family_.module.supply_gesture.times != 0;
    for_each_action([&](const Action& action, std::uint32_t line) {
      if (action.verb == Verb::count_up && !counts)
        add(true, line, tr("the supply is counted, but nothing says how often it has to come on"),
            tr("supply: {{times: 3, on_for: 3s}} in the module's 'setup'"));
    });
  }

  void need_time(Timer timer, bool there, std::string_view key) {
    if (there) return;
    for_each_action([&](const Action& action, std::uint32_t line) {
      if (action == Action{Verb::start, static_cast<std::uint8_t>(timer)})
        add(true, line, tr("'{}': how long that takes is not said", to_string(action)),
            tr("'{}' beside the module's other times", key));
    });
  }

  // --- states ---

  void check_states() {
    std::set<StateIndex> reached{0};
    for (bool grows = true; grows;) {
      grows = false;
      for (const MachineRow& row : machine_.rows) {
        if (row.to == same_state || (row.in != any_state && !reached.contains(row.in))) continue;
        grows = reached.insert(row.to).second || grows;
      }
    }
    for (StateIndex i = 0; i < machine_.states.size(); ++i) {
      const MachineState& state = machine_.states[i];
      if (!reached.contains(i)) doubt(state.line, tr("state '{}': nothing leads there", state.name));
      check_way_out(i, state);
    }
    const bool setup = std::any_of(machine_.states.begin(), machine_.states.end(),
                                   [](const MachineState& state) { return state.mode == Mode::setup; });
    if (!setup) doubt(0, tr("there is no setup: no state has that mode"), tr("a state with mode: setup"));
  }

  void check_way_out(StateIndex index, const MachineState& state) {
    if (machine_.states.size() == 1) return;
    bool leaves = false;
    bool leaves_by_itself = false;
    for (const MachineRow& row : machine_.rows) {
      if ((row.in != any_state && row.in != index) || row.to == same_state || row.to == index) continue;
      leaves = true;
      leaves_by_itself = leaves_by_itself || row.on == Event::time_out || row.on == Event::confirm;
    }
    if (!leaves) {
      doubt(state.line, tr("state '{}': nothing but a power cut leads out of it", state.name),
            tr("a row with 'to'"));
    } else if (state.mode == Mode::setup && !leaves_by_itself) {
      doubt(state.line, tr("state '{}': setup that never ends by itself", state.name),
            tr("a row with 'on: time-out' and 'to', and 'start time-out' on entry"));
    }
  }

  // --- rows ---

  void check_rows() {
    for (std::size_t i = 0; i < machine_.rows.size(); ++i) {
      const MachineRow& row = machine_.rows[i];
      if (contradicts_itself(row.when))
        doubt(row.line, tr("'{}': its conditions never hold together", to_string(row.on)));
      for (std::size_t j = 0; j < i; ++j) {
        if (!takes_all_of(machine_.rows[j], row)) continue;
        doubt(row.line,
              tr("'{}': never taken, as {} comes first", to_string(row.on),
                 machine_.rows[j].line == 0 ? tr("another row") : tr("line {}", machine_.rows[j].line)),
              tr("a condition that the earlier row has not, or another order"));
        break;
      }
    }
  }

  static bool takes_all_of(const MachineRow& earlier, const MachineRow& later) {
    if (earlier.on != later.on || (earlier.in != any_state && earlier.in != later.in)) return false;
    return std::all_of(earlier.when.begin(), earlier.when.end(), [&](const Guard& guard) {
      return std::find(later.when.begin(), later.when.end(), guard) != later.when.end();
    });
  }

  static bool contradicts_itself(const std::vector<Guard>& guards) {
    constexpr std::array exclusive = {std::pair{Condition::power_up_off, Condition::power_up_full},
                                      std::pair{Condition::power_up_off, Condition::power_up_last},
                                      std::pair{Condition::power_up_full, Condition::power_up_last},
                                      std::pair{Condition::at_channel_0, Condition::at_channel_1},
                                      std::pair{Condition::mine, Condition::my_group},
                                      std::pair{Condition::mine, Condition::my_site},
                                      std::pair{Condition::my_group, Condition::my_site}};
    const auto has = [&](Condition condition, bool holds) {
      return std::find(guards.begin(), guards.end(), Guard{condition, holds}) != guards.end();
    };
    for (const Condition condition : sim::all_of<Condition>()) {
      if (has(condition, true) && has(condition, false)) return true;
    }
    return std::any_of(exclusive.begin(), exclusive.end(),
                       [&](const auto& pair) { return has(pair.first, true) && has(pair.second, true); });
  }

  // --- timers ---

  void check_timers() {
    for (const auto& [event, timer] : timed_events) {
      const std::uint32_t started = line_of_start(timer);
      const bool starts = started != 0 || starts_.contains(timer);
      const auto row = std::find_if(machine_.rows.begin(), machine_.rows.end(),
                                    [on = event](const MachineRow& r) { return r.on == on; });
      if (row != machine_.rows.end() && !starts) {
        doubt(row->line, tr("'{}': nobody starts that time", to_string(event)),
              timer == Timer::count ? "'count supply'" : fmt::format("'start {}'", to_string(timer)));
      } else if (row == machine_.rows.end() && starts) {
        doubt(started, tr("'{}' is started, but no row says what comes when it is over", to_string(timer)),
              tr("a row with 'on: {}'", to_string(event)));
      }
    }
  }

  /// Where a timer is started; notes in starts_ that it is.
  std::uint32_t line_of_start(Timer timer) {
    std::uint32_t found = 0;
    for_each_action([&](const Action& action, std::uint32_t line) {
      const bool starts = action == Action{Verb::start, static_cast<std::uint8_t>(timer)} ||
                          (timer == Timer::count && action.verb == Verb::count_up);
      if (!starts) return;
      starts_.insert(timer);
      if (found == 0) found = line;
    });
    return found;
  }

  // --- patterns ---

  void check_patterns() {
    std::set<Pattern> shown{Pattern::dark};
    for (const MachineState& state : machine_.states) shown.insert(state.shows);
    for_each_action([&](const Action& action, std::uint32_t line) {
      Pattern pattern = Pattern::dark;
      if (action.verb == Verb::blip) pattern = Pattern::blip;
      if (action.verb == Verb::refuse) pattern = Pattern::refuse;
      if (action.verb == Verb::show) pattern = static_cast<Pattern>(action.argument);
      const bool in_order =
          pattern == Pattern::dark ||
          std::find(machine_.order.begin(), machine_.order.end(), pattern) != machine_.order.end();
      if (!in_order && shown.insert(pattern).second)
        doubt(line,
              tr("'{}': that pattern has no place in 'shows', so that it never does", to_string(pattern)));
      shown.insert(pattern);
    });
    for (const Pattern pattern : machine_.order) {
      if (!shown.contains(pattern))
        doubt(0, tr("'{}' stands in 'shows', but nothing ever shows it", to_string(pattern)));
    }
  }

  // --- buttons ---

  void check_buttons() {
    const PlateFamily& plate = family_.plate;
    const std::array uses = {std::pair{Event::next, plate.next}, std::pair{Event::previous, plate.previous},
                             std::pair{Event::identify, plate.identify},
                             std::pair{Event::assign, plate.assign}, std::pair{Event::leave, plate.leave}};
    for (const auto& [event, button] : uses) {
      const auto row = std::find_if(machine_.rows.begin(), machine_.rows.end(),
                                    [on = event](const MachineRow& r) { return r.on == on; });
      if (row != machine_.rows.end() && button == no_button) {
        doubt(row->line, tr("'{}': no button does that in setup", to_string(event)),
              tr("a button for it in the plate's 'setup'"));
      } else if (row == machine_.rows.end() && button != no_button) {
        doubt(0, tr("button '{}' has a use in setup, but no row says what", plate.name_of(button)),
              tr("a row with 'on: {}'", to_string(event)));
      }
    }
  }

  // --- what is said and heard ---

  void check_telegrams() {
    const Machine& others = plate_ ? family_.module.machine : family_.plate.machine;
    const auto heard_by = [](const Machine& machine, TelegramKind kind) {
      return std::any_of(machine.rows.begin(), machine.rows.end(), [kind](const MachineRow& row) {
        return is_heard(row.on) && kind_heard(row.on) == kind;
      });
    };
    std::set<TelegramKind> told;
    for_each_action([&](const Action& action, std::uint32_t line) {
      if (action.verb != Verb::send) return;
      const auto kind = static_cast<TelegramKind>(action.argument);
      if (!told.insert(kind).second || heard_by(others, kind) || heard_by(machine_, kind)) return;
      doubt(line,
            plate_ ? tr("'{}': no module of this family has a row for it", to_string(action))
                   : tr("'{}': no plate of this family has a row for it", to_string(action)),
            tr("a row with 'on: {} heard'", to_string(kind)));
    });
  }

  /// Keys for more than one zone that no module of the family answers.
  void check_keys() {
    const PlateFamily& plate = family_.plate;
    for (std::size_t i = 0; i < plate.buttons.size(); ++i) {
      for (const Binding* binding : {&plate.press[i], &plate.hold[i]}) {
        const auto telegram = telegram_of(*binding, 1, 1);
        if (!telegram || !binding->is_master() || understands(family_.module, *telegram)) continue;
        doubt(0,
              tr("button '{}', '{}': no module of this family has a row for it", plate.buttons[i],
                 to_string(*binding)),
              tr("a row with 'on: {}' and 'when: {}'", to_string(heard(telegram->kind)),
                 to_string(binding->whom == Whom::group ? Condition::my_group : Condition::my_site)));
      }
    }
  }

  void check_groups() {
    if (family_.module.group != 0) return;
    for (const MachineRow& row : machine_.rows) {
      const bool asks = std::any_of(row.when.begin(), row.when.end(), [](const Guard& guard) {
        return guard.condition == Condition::my_group;
      });
      if (asks)
        return add(true, row.line, tr("it asks for its group, but nothing says how many zones are in one"),
                   tr("'group: 4' beside the module's other numbers"));
    }
  }

  template <class Visit>
  void for_each_action(Visit visit) const {
    for (const MachineState& state : machine_.states) {
      for (const Action& action : state.entry) visit(action, state.line);
      for (const Action& action : state.exit) visit(action, state.line);
    }
    for (const MachineRow& row : machine_.rows) {
      for (const Action& action : row.does) visit(action, row.line);
    }
  }

  const Family& family_;
  bool plate_;
  const Machine& machine_;
  std::vector<MachineRemark>& remarks_;
  std::set<Timer> starts_;
};

}  // namespace

std::vector<MachineRemark> remarks_on(const Family& family) {
  std::vector<MachineRemark> remarks;
  MachineCheck{family, true, remarks}.check();
  MachineCheck{family, false, remarks}.check();
  std::stable_sort(remarks.begin(), remarks.end(), [](const MachineRemark& a, const MachineRemark& b) {
    return std::pair{!a.plate, a.line} < std::pair{!b.plate, b.line};
  });
  return remarks;
}

}  // namespace drybus::model
