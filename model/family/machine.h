// A device's machine: which state it is in, what it hears or is pressed or runs out, under which condition, what it does
// then, and where that leads. A family file has the rows in words (machine_words.h); here they are numbers, laid out so
// that a reaction finds its rows at once. What a row can name, and what each of these means, stands in machine_words.cpp.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "sim/enumeration.h"

namespace drybus::model {

BOOST_DEFINE_FIXED_ENUM_CLASS(Mode, std::uint8_t, normal, setup)

/// What an indicator shows. A machine says which one shows when several apply.
BOOST_DEFINE_FIXED_ENUM_CLASS(Pattern, std::uint8_t, dark, blip, breathe, blink, steady, refuse)

enum class Refusal : std::uint8_t { channel_zero, zone_zero, no_such_channel };

BOOST_DEFINE_FIXED_ENUM_CLASS(Timer, std::uint8_t, debounce,
                              hold,      ///< a gesture or a long press is being held
                              time_out,  ///< setup ends by itself
                              beacon, refuse, steady, breathe, blip,
                              sleep,  ///< blips fall asleep
                              flash,
                              store,    ///< memory is being written
                              ask,      ///< a module asks for an address again
                              confirm,  ///< an offered address waits to be confirmed
                              count     ///< the supply stayed on for too long to be counted
)
inline constexpr std::size_t timer_count = sim::count_of<Timer>;

/// What a row waits for. Contacts, gestures and what only a lamp or a load runs through are services of the device:
/// they come to a row when they mean something.
BOOST_DEFINE_FIXED_ENUM_CLASS(
    Event, std::uint8_t, power_on,
    any_button,                               ///< some button went down
    gesture,                                  ///< what enters setup was held for its time
    next, previous, identify, assign, leave,  ///< a plate's buttons by their use in setup
    command,  ///< a plate's button was pressed or held for what it does in normal mode
    press,    ///< a module's button went down
    tap,      ///< a module's button came up before that was a hold
    time_out, beacon, ask, confirm, count,  ///< a timer ran out
    heard_beacon, heard_left, heard_identify, heard_assign, heard_on, heard_off, heard_recall, heard_store,
    heard_raise, heard_lower, heard_stop, heard_ask,
    heard_anything  ///< after what the telegram itself means
)

/// What has to hold for a row. Each can be said with "not".
BOOST_DEFINE_FIXED_ENUM_CLASS(Condition, std::uint8_t, at_channel_0, at_channel_1, at_last_channel, zone_0,
                              mine,         ///< the telegram comes from a plate that it obeys
                              for_me,       ///< the telegram has the address that it stores
                              addressed,    ///< an address is stored
                              offer_whole,  ///< neither zone nor channel of the telegram is 0
                              other_site,   ///< the telegram's site number is not the stored one
                              scene_stored, scene_fits, lit, power_up_off, power_up_full, power_up_last,
                              counted_enough,  ///< with this time the supply came on as often as enters setup
                              my_group,        ///< the telegram is for a group of zones, which mine is one of
                              my_site          ///< the telegram is for a whole site, and that is mine
)

/// What a row does; see machine_words.cpp for what each of them means.
BOOST_DEFINE_FIXED_ENUM_CLASS(Verb, std::uint8_t, wake, blip, show, stop_showing, refuse, send, start, stop,
                              start_at_channel, step_up, step_down, carry_out, ignore_offer, keep_offer,
                              store_address, store_power_up, store_scene, fade_full, fade_dark, fade_scene,
                              raise, lower, halt, flash, light_full, light_last, count_up, count_afresh)

/// A verb with what it is done to: a Pattern, a Refusal, a Timer, a TelegramKind, a channel or a PowerUp.
struct Action {
  Verb verb = Verb::wake;
  std::uint8_t argument = 0;
  friend bool operator==(const Action&, const Action&) = default;
};

struct Guard {
  Condition condition = Condition::lit;
  bool holds = true;  ///< false: "not"
  friend bool operator==(const Guard&, const Guard&) = default;
};

using StateIndex = std::uint8_t;
inline constexpr StateIndex any_state = 0xff;   ///< as where a row starts from
inline constexpr StateIndex same_state = 0xff;  ///< as where it leads to

struct MachineRow {
  StateIndex in = any_state;
  Event on = Event::power_on;
  std::vector<Guard> when;   ///< all of them
  std::vector<Action> does;  ///< in this order, before the state changes
  StateIndex to = same_state;
  std::uint32_t line = 0;  ///< in the family's file; 0: in none
};

struct MachineState {
  std::string name;
  Mode mode = Mode::normal;
  Pattern shows = Pattern::dark;
  std::vector<Action> entry;  ///< when a row has led here, after what that row and the last state's exit do
  std::vector<Action> exit;
  std::uint32_t line = 0;
};

/// State 0 is where a device starts. Of the rows of one event the first whose conditions hold is taken, and no other.
struct Machine {
  static constexpr std::size_t most_states = 200;
  static constexpr std::size_t most_rows = 4000;
  static constexpr std::size_t most_actions =
      8;  ///< of one row, entry or exit; Effects holds three times these

  std::vector<MachineState> states;
  std::vector<MachineRow> rows;
  std::vector<Pattern> order;  ///< which pattern shows when several apply: the first of these

  /// A row as a reaction reads it.
  struct Compiled {
    std::uint32_t guards = 0;   ///< where its guards begin
    std::uint32_t actions = 0;  ///< where its actions begin
    std::uint8_t guard_count = 0;
    std::uint8_t action_count = 0;
    StateIndex to = same_state;
    std::uint16_t row = 0;
  };

  /// Lays the rows out by state and event, and numbers the states of each mode. To be called when anything has changed.
  void compile();

  /// The rows of this event in this state, in their order.
  [[nodiscard]] std::span<const Compiled> candidates(StateIndex state, Event event) const {
    const Range range = ranges_[state * sim::count_of<Event> + static_cast<std::size_t>(event)];
    return {compiled_.data() + range.begin, range.count};
  }
  [[nodiscard]] std::span<const Guard> guards(const Compiled& row) const {
    return {guards_.data() + row.guards, row.guard_count};
  }
  [[nodiscard]] std::span<const Action> actions(const Compiled& row) const {
    return {actions_.data() + row.actions, row.action_count};
  }

  /// The state that is number `stage` among those of its mode, and back.
  [[nodiscard]] StateIndex state_of(Mode mode, std::uint8_t stage) const { return by_mode_[mode][stage]; }
  [[nodiscard]] std::uint8_t stage_of(StateIndex state) const { return stages_[state]; }

  /// Which pattern shows in a state in which these are wanted as well, a bit each: the first of them in `order`.
  [[nodiscard]] Pattern shown(StateIndex state, unsigned wanted) const {
    return first_of_[wanted | own_pattern_[state]];
  }

  [[nodiscard]] std::optional<StateIndex> find_state(std::string_view name) const;

 private:
  struct Range {
    std::uint32_t begin = 0;
    std::uint32_t count = 0;
  };
  std::vector<Compiled> compiled_;
  std::vector<Range> ranges_;  ///< by state, then by event
  std::vector<Guard> guards_;
  std::vector<Action> actions_;
  // Looked at in every reaction, and so without a detour.
  sim::ByEnum<Mode, std::array<StateIndex, most_states>> by_mode_;
  std::array<std::uint8_t, most_states> stages_{};
  std::array<std::uint8_t, most_states> own_pattern_{};                       ///< one bit
  std::array<Pattern, std::size_t{1} << sim::count_of<Pattern>> first_of_{};  ///< by the bits that are set
};

/// A pattern as a bit.
constexpr unsigned bit_of(Pattern pattern) {
  return 1U << static_cast<unsigned>(pattern);
}

}  // namespace drybus::model
