#include "model/suite/same_machine.h"

#include <algorithm>
#include <array>
#include <bitset>
#include <iterator>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "model/devices/machine_check.h"
#include "model/devices/plate.h"
#include "model/family/telegram.h"

namespace drybus::model {

namespace {

constexpr Event event_of(Timer timer) {
  for (const auto& [event, of] : timed_events) {
    if (of == timer) return event;
  }
  return Event::power_on;  // no timer of a row's
}

/// Something that one row leaves for a later one: a time that runs, or the offer that is kept.
struct Left {
  std::optional<Timer> timer;  ///< none: the offer

  /// Whether the action begins or ends it, whatever was there before.
  [[nodiscard]] bool is_settled_by(const Action& action) const {
    if (!timer) return action.verb == Verb::keep_offer;
    const bool of_the_count =
        *timer == Timer::count && (action.verb == Verb::count_up || action.verb == Verb::count_afresh);
    return is_about(action) || of_the_count;
  }
  /// Whether it does nothing else.
  [[nodiscard]] bool is_about(const Action& action) const {
    if (!timer) return action.verb == Verb::keep_offer;
    return (action.verb == Verb::start || action.verb == Verb::stop) &&
           action.argument == static_cast<std::uint8_t>(*timer);
  }
  /// Whether the row asks for it or uses it.
  [[nodiscard]] bool is_used_by(const MachineRow& row) const {
    if (timer) return row.on == event_of(*timer);
    if (row.on == Event::heard_assign) return false;  // that brings one of its own
    const bool asks = std::any_of(row.when.begin(), row.when.end(), [](const Guard& guard) {
      return guard.condition == Condition::offer_whole || guard.condition == Condition::other_site;
    });
    return asks || std::any_of(row.does.begin(), row.does.end(),
                               [](const Action& action) { return action.verb == Verb::store_address; });
  }
};
constexpr std::optional<Timer> what_is_left[] = {Timer::time_out, Timer::beacon, Timer::ask,
                                                 Timer::confirm,  Timer::count,  std::nullopt};
constexpr std::size_t left_count = std::size(what_is_left);

/// Which conditions hold, a bit each.
using Holding = std::bitset<sim::count_of<Condition>>;
bool holds(const Holding& holding, Condition condition) {
  return holding[static_cast<std::size_t>(condition)];
}

/// What comes of an event: what is done, and where that leads.
struct Outcome {
  std::vector<Action> does;
  StateIndex to = 0;
  friend bool operator==(const Outcome&, const Outcome&) = default;
};

class Comparison {
 public:
  Comparison(const Family& family, const Family& other, DeviceKind kind)
      : family_(family), kind_(kind), one_(machine_of(family, kind)), other_(machine_of(other, kind)) {
    for (const Family* each : {&family, &other}) find_sent(*each);
    offers_whole_ = kind == DeviceKind::module && sends_whole_offers_only(family.plate);
  }

  bool same() {
    if (one_.states.size() != other_.states.size() || one_.order != other_.order) return false;
    for (std::size_t i = 0; i < one_.states.size(); ++i) {
      if (one_.states[i].mode != other_.states[i].mode || one_.states[i].shows != other_.states[i].shows)
        return false;
    }
    for (std::size_t i = 0; i < left_count; ++i) find_where_it_matters({what_is_left[i]}, matters_[i]);
    std::vector<StateIndex> reached{0};
    for (std::size_t next = 0; next < reached.size(); ++next) {
      if (!same_in(reached[next], reached)) return false;
    }
    return true;
  }

 private:
  // --- what this family's devices can bring about ---

  void find_sent(const Family& family) {
    for (const Machine* machine : {&family.plate.machine, &family.module.machine}) {
      const auto note = [&](const std::vector<Action>& actions) {
        for (const Action& action : actions) {
          if (action.verb == Verb::send) sent_.insert(static_cast<TelegramKind>(action.argument));
        }
      };
      for (const MachineRow& row : machine->rows) note(row.does);
      for (const MachineState& state : machine->states) note(state.entry), note(state.exit);
    }
    // What buttons say in normal mode, and the stop that ends a raise or lower.
    sent_.insert({TelegramKind::on, TelegramKind::off, TelegramKind::recall, TelegramKind::store,
                  TelegramKind::raise, TelegramKind::lower, TelegramKind::stop});
  }

  static bool sends_offer(const std::vector<Action>& actions) {
    return std::find(actions.begin(), actions.end(),
                     Action{Verb::send, static_cast<std::uint8_t>(TelegramKind::assign)}) != actions.end();
  }

  /// Whether no row offers while the zone is 0 or, without a step up, the channel is.
  static bool sends_whole_offers_only(const PlateFamily& plate) {
    const Machine& machine = plate.machine;
    for (std::size_t i = 0; i < machine.rows.size(); ++i) {
      const MachineRow& row = machine.rows[i];
      if (!sends_offer(row.does)) continue;
      const bool steps = std::find(row.does.begin(), row.does.end(), Action{Verb::step_up}) != row.does.end();
      const auto kept_out = [&](Condition condition) {
        if (std::find(row.when.begin(), row.when.end(), Guard{condition, false}) != row.when.end())
          return true;
        return std::any_of(machine.rows.begin(), machine.rows.begin() + static_cast<std::ptrdiff_t>(i),
                           [&](const MachineRow& earlier) {
                             return earlier.on == row.on &&
                                    (earlier.in == row.in || earlier.in == any_state) &&
                                    earlier.when == std::vector<Guard>{{condition, true}} &&
                                    !sends_offer(earlier.does);
                           });
      };
      if (!kept_out(Condition::zone_0) ||
          (!steps && !kept_out(Condition::at_channel_0) && !starts_at_one(machine)))
        return false;
    }
    return std::none_of(machine.states.begin(), machine.states.end(), [](const MachineState& state) {
      return sends_offer(state.entry) || sends_offer(state.exit);
    });
  }

  /// Setup begins at channel 1, and no step down is made there.
  static bool starts_at_one(const Machine& machine) {
    for (const MachineState& state : machine.states) {
      const bool begins = std::find(state.entry.begin(), state.entry.end(),
                                    Action{Verb::start_at_channel, 1}) != state.entry.end();
      if (state.mode == Mode::setup && !begins) return false;
    }
    for (std::size_t i = 0; i < machine.rows.size(); ++i) {
      const auto& does = machine.rows[i].does;
      if (std::find(does.begin(), does.end(), Action{Verb::step_down}) == does.end()) continue;
      const bool kept_out =
          std::any_of(machine.rows.begin(), machine.rows.begin() + static_cast<std::ptrdiff_t>(i),
                      [&](const MachineRow& row) {
                        return row.on == machine.rows[i].on &&
                               row.when == std::vector<Guard>{{Condition::at_channel_1, true}};
                      });
      if (!kept_out) return false;
    }
    return true;
  }

  [[nodiscard]] bool can_come(Event event, StateIndex state) const {
    if (event >= Event::heard_beacon && event < Event::heard_anything) {
      const int kind = static_cast<int>(event) - static_cast<int>(Event::heard_beacon) + 1;
      return sent_.contains(static_cast<TelegramKind>(kind));
    }
    if (kind_ == DeviceKind::module) {
      if (event == Event::gesture) return family_.module.setup_hold > sim::Duration::zero();
      const bool by_hand = event == Event::any_button || event == Event::press || event == Event::tap;
      return !by_hand || !family_.module.button.empty();
    }
    const bool in_setup = one_.states[state].mode == Mode::setup;
    if (event == Event::gesture || event == Event::command) return !in_setup;
    return in_setup || event < Event::next || event > Event::leave;
  }

  /// Whether conditions can hold together.
  [[nodiscard]] bool possible(const Holding& holding, Event event, StateIndex state) const {
    const auto is = [&](Condition condition) { return holds(holding, condition); };
    const int power_ups =
        is(Condition::power_up_off) + is(Condition::power_up_full) + is(Condition::power_up_last);
    if (kind_ == DeviceKind::module) {
      if (power_ups != 1) return false;
      if (is(Condition::for_me) && !(is(Condition::addressed) && is(Condition::mine))) return false;
      // Every scene has a level from the factory on, and no plate names one that there is not.
      if (!is(Condition::scene_fits) || (family_.module.factory_scenes && !is(Condition::scene_stored)))
        return false;
      // A command is for a zone, a group or a site; everything else names a zone.
      if (is(Condition::mine) + is(Condition::my_group) + is(Condition::my_site) > 1) return false;
      const bool scoped = is(Condition::my_group) || is(Condition::my_site);
      if (scoped && (!is_of_command(event) || !sends_to_many(family_.plate))) return false;
      if (event == Event::heard_assign && offers_whole_ && !is(Condition::offer_whole)) return false;
      return family_.module.supply_gesture.times != 0 || !is(Condition::counted_enough);
    }
    const int places = is(Condition::at_channel_0) + is(Condition::at_channel_1);
    if (places > 1 || (is(Condition::at_channel_0) && is(Condition::at_last_channel))) return false;
    if (is(Condition::at_channel_1) && is(Condition::at_last_channel) && family_.plate.channels > 1)
      return false;
    return one_.states[state].mode != Mode::normal || is(Condition::at_channel_0);
  }

  static bool is_of_command(Event event) { return event >= Event::heard_on && event <= Event::heard_stop; }

  static bool sends_to_many(const PlateFamily& plate) {
    return speaks_for(plate, Whom::group) || speaks_for(plate, Whom::whole_site);
  }

  // --- what is left, and where that still matters ---

  void find_where_it_matters(const Left& left, std::vector<bool>& matters) const {
    matters.assign(one_.states.size(), false);
    for (bool grows = true; grows;) {
      grows = false;
      for (StateIndex state = 0; state < one_.states.size(); ++state) {
        if (matters[state] || !(is_used_in(state, left) || leads_where_it_matters(state, left, matters)))
          continue;
        matters[state] = grows = true;
      }
    }
  }

  template <class Holds>
  [[nodiscard]] bool some_row_in(StateIndex state, Holds holds) const {
    const auto has = [&](const Machine& machine) {
      return std::any_of(machine.rows.begin(), machine.rows.end(), [&](const MachineRow& row) {
        return (row.in == state || row.in == any_state) && holds(machine, row);
      });
    };
    return has(one_) || has(other_);
  }

  [[nodiscard]] bool is_used_in(StateIndex state, const Left& left) const {
    return some_row_in(state, [&](const Machine&, const MachineRow& row) { return left.is_used_by(row); });
  }

  /// Whether a row leads on from here to where it matters, and leaves it as it was.
  [[nodiscard]] bool leads_where_it_matters(StateIndex state, const Left& left,
                                            const std::vector<bool>& matters) const {
    const auto settles = [&](const std::vector<Action>& actions) {
      return std::any_of(actions.begin(), actions.end(),
                         [&](const Action& action) { return left.is_settled_by(action); });
    };
    return some_row_in(state, [&](const Machine& machine, const MachineRow& row) {
      return row.to != same_state && matters[row.to] && !settles(row.does) &&
             !settles(machine.states[state].exit) && !settles(machine.states[row.to].entry);
    });
  }

  // --- one state ---

  /// Adds where its rows lead.
  bool same_in(StateIndex state, std::vector<StateIndex>& reached) const {
    for (const Event event : sim::all_of<Event>()) {
      if (!can_come(event, state)) continue;
      if (!same_on(event, state, reached)) return false;
    }
    return true;
  }

  bool same_on(Event event, StateIndex state, std::vector<StateIndex>& reached) const {
    const std::vector<Condition> asked = conditions_of(event, state);
    for (unsigned long long bits = 0; bits < 1ULL << asked.size(); ++bits) {
      Holding holding;
      for (std::size_t i = 0; i < asked.size(); ++i)
        holding[static_cast<std::size_t>(asked[i])] = ((bits >> i) & 1) != 0;
      if (!possible(holding, event, state)) continue;
      const Outcome wanted = outcome(one_, event, state, holding);
      if (!(wanted == outcome(other_, event, state, holding))) return false;
      if (std::find(reached.begin(), reached.end(), wanted.to) == reached.end()) reached.push_back(wanted.to);
    }
    return true;
  }

  /// Those that the rows of either machine ask, and those without which it could not be said which of them go together.
  [[nodiscard]] std::vector<Condition> conditions_of(Event event, StateIndex state) const {
    std::set<Condition> asked;
    for (const Machine* machine : {&one_, &other_}) {
      for (const Machine::Compiled& row : machine->candidates(state, event)) {
        for (const Guard& guard : machine->guards(row)) asked.insert(guard.condition);
      }
    }
    if (kind_ == DeviceKind::module) {
      asked.insert({Condition::power_up_off, Condition::power_up_full, Condition::power_up_last,
                    Condition::scene_fits, Condition::scene_stored});
      if (asked.contains(Condition::for_me)) asked.insert({Condition::addressed, Condition::mine});
      if (event == Event::heard_assign) asked.insert(Condition::offer_whole);
    } else {
      asked.insert(Condition::at_channel_0);
    }
    return {asked.begin(), asked.end()};
  }

  [[nodiscard]] Outcome outcome(const Machine& machine, Event event, StateIndex state,
                                const Holding& holding) const {
    for (const Machine::Compiled& row : machine.candidates(state, event)) {
      const auto guards = machine.guards(row);
      const bool fits = std::all_of(guards.begin(), guards.end(), [&](const Guard& guard) {
        return holds(holding, guard.condition) == guard.holds;
      });
      if (!fits) continue;
      const auto actions = machine.actions(row);
      Outcome outcome{{actions.begin(), actions.end()}, row.to == same_state ? state : row.to};
      if (row.to != same_state) {
        append(outcome.does, machine.states[state].exit);
        append(outcome.does, machine.states[row.to].entry);
      }
      // A scene that was never stored has no level to go to.
      if (kind_ == DeviceKind::module && !holds(holding, Condition::scene_stored))
        std::erase_if(outcome.does, [](const Action& action) { return action.verb == Verb::fade_scene; });
      leave_out_what_does_nothing(outcome, state);
      return outcome;
    }
    return {{}, state};
  }

  static void append(std::vector<Action>& to, const std::vector<Action>& more) {
    to.insert(to.end(), more.begin(), more.end());
  }

  void leave_out_what_does_nothing(Outcome& outcome, StateIndex from) const {
    // A plate that is not in setup stands at channel 0.
    if (kind_ == DeviceKind::plate && one_.states[from].mode == Mode::normal && !outcome.does.empty()) {
      std::erase(outcome.does, Action{Verb::start_at_channel, 0});
    }
    // The record has these, but nobody sees them.
    std::erase(outcome.does, Action{Verb::ignore_offer});
    for (Action& action : outcome.does) {
      if (action.verb == Verb::refuse) action.argument = 0;
    }
    for (std::size_t i = 0; i < left_count; ++i) {
      const auto is_about = [left = Left{what_is_left[i]}](const Action& action) {
        return left.is_about(action);
      };
      // Of what is done about one thing only the last counts.
      const auto last = std::find_if(outcome.does.rbegin(), outcome.does.rend(), is_about);
      if (last == outcome.does.rend()) continue;
      const Action kept = *last;
      std::erase_if(outcome.does, is_about);
      if (matters_[i][outcome.to]) outcome.does.push_back(kept);
    }
  }

  const Family& family_;
  DeviceKind kind_;
  const Machine& one_;
  const Machine& other_;
  std::set<TelegramKind> sent_;
  bool offers_whole_ = false;
  std::array<std::vector<bool>, left_count> matters_;  ///< in the order of what_is_left, by state
};

}  // namespace

bool do_the_same(const Family& family, const Family& other, DeviceKind kind) {
  return Comparison{family, other, kind}.same();
}

}  // namespace drybus::model
