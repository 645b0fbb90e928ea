// Plates with one thing wrong.
#include <array>
#include <bit>
#include <utility>

#include "model/suite/mutant_shapes.h"

namespace drybus::model::mutant {

namespace {

void begins_at_channel_one(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const Mode before = state.mode;
  react(family, stimulus, state, effects);
  if (before == Mode::normal && state.mode == Mode::setup) state.channel = 1;
}

void no_entry_beacon(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const Mode before = state.mode;
  react(family, stimulus, state, effects);
  if (before == Mode::setup) return;
  edit(effects, [](const Effect& e) { return !is_send(e, beacon); });
}

void entry_beacon_only(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  if (is_due(stimulus, Timer::beacon)) return;
  react(family, stimulus, state, effects);
}

bool is_press_of(const PlateState& state, const Stimulus& stimulus, Button button) {
  return stimulus.kind == Kind::contacts && button != no_button &&
         (stimulus.contacts & model::only(button)) != 0 && (state.down & model::only(button)) == 0;
}

void ignore_leave_button(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  Family deaf = family;
  deaf.plate.leave = no_button;
  react(deaf, stimulus, state, effects);
}

void identify_leaves(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  Family eager = family;
  if (is_press_of(state, stimulus, family.plate.identify))
    eager.plate.leave = std::exchange(eager.plate.identify, no_button);
  react(eager, stimulus, state, effects);
}

void step_by_two(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const std::uint8_t before = state.channel;
  react(family, stimulus, state, effects);
  if (state.channel != before + 1) return;
  state.channel = static_cast<std::uint8_t>(state.channel + 1);
  edit(effects, [&](Effect& e) {
    if (is_send(e, identify)) e.telegram.channel = state.channel;
    return true;
  });
}

void wrap_upwards(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  if (state.mode == Mode::setup && state.channel == family.plate.channels &&
      is_press_of(state, stimulus, family.plate.next)) {
    state.channel = 0;
  }
  react(family, stimulus, state, effects);
}

void wrap_downwards(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  if (state.mode == Mode::setup && state.channel == 0 &&
      is_press_of(state, stimulus, family.plate.previous)) {
    state.channel = static_cast<std::uint8_t>(family.plate.channels + 1);
  }
  react(family, stimulus, state, effects);
}

/// The button of setup sends what it sends in normal mode as well.
void ordinary_meaning_in_setup(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const bool pressed = state.mode == Mode::setup && is_press_of(state, stimulus, family.plate.next);
  react(family, stimulus, state, effects);
  if (pressed) effects.send({on, state.site, state.zone, 0, 0});
}

/// Channel 0 or zone 0 is offered all the same.
template <Refusal guard>
void offers_anyway(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const bool offers = state.mode == Mode::setup && is_press_of(state, stimulus, family.plate.assign);
  const bool guarded =
      guard == Refusal::channel_zero ? state.channel == 0 : state.channel != 0 && state.zone == 0;
  react(family, stimulus, state, effects);
  if (!offers || !guarded) return;
  state.refusing = 0;
  edit(effects, [](const Effect& e) {
    const bool told = e.kind == Effect::Kind::tell && e.which == static_cast<std::uint8_t>(Told::refused);
    return !told && !is_start(e, Timer::refuse);
  });
  effects.send({assign, state.site, state.zone, state.channel, 0});
  show_again(family, state, effects);
}

template <Refusal why>
void hides_refusal(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const std::uint8_t before = state.refusing;
  react(family, stimulus, state, effects);
  const bool refused = std::any_of(effects.begin(), effects.end(), [](const Effect& e) {
    return e.kind == Effect::Kind::tell && e.which == static_cast<std::uint8_t>(Told::refused) &&
           e.value == static_cast<std::uint16_t>(why);
  });
  if (!refused) return;
  state.refusing = before;
  edit(effects, [](const Effect& e) { return !is_start(e, Timer::refuse); });
  show_again(family, state, effects);
}

void blink_over_refuse(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const PlateState& s) {
    return s.mode == Mode::setup ? Pattern::blink : shown_in(family, s);
  });
}
void blip_over_blink(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const PlateState& s) {
    return s.refusing == 0 && s.blipping != 0 ? Pattern::blip : shown_in(family, s);
  });
}
void steady_for_blink(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const PlateState& s) {
    return shown_in(family, s) == Pattern::blink ? Pattern::steady : shown_in(family, s);
  });
}
void plate_shows_no_blips(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  if (stimulus.kind == Kind::telegram) return;
  react(family, stimulus, state, effects);
}

void long_press_acts_twice(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const bool held = is_due(stimulus, Timer::hold) && state.mode == Mode::normal;
  react(family, stimulus, state, effects);
  if (held && state.mode == Mode::normal && state.moving == 0) state.spent = 0;
}

void chord_acts(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const bool was_setup = state.mode == Mode::setup;
  react(family, stimulus, state, effects);
  if (!was_setup && state.mode == Mode::normal && std::popcount(state.down) > 1) state.spent = 0;
}

void gesture_acts(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  const bool entered = is_due(stimulus, Timer::hold) && state.mode == Mode::setup;
  if (entered) effects.send({off, state.site, state.zone, 0, 0});
}

void steps_at_identify(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  Family stepping = family;
  if (is_press_of(state, stimulus, family.plate.identify) && state.channel != 0) {
    stepping.plate.next = family.plate.identify;
    stepping.plate.identify = no_button;
  }
  react(stepping, stimulus, state, effects);
}

void no_gesture(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  Family deaf = family;
  if (is_due(stimulus, Timer::hold) && state.down == family.plate.setup_gesture) return;
  react(deaf, stimulus, state, effects);
}

void leaves_silently_by_button(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (stimulus.kind == Kind::contacts) edit(effects, [](const Effect& e) { return !is_send(e, left); });
}
void leaves_silently_by_time_out(const Family& family, Stimulus stimulus, PlateState& state,
                                 Effects& effects) {
  react(family, stimulus, state, effects);
  if (stimulus.kind == Kind::timer) edit(effects, [](const Effect& e) { return !is_send(e, left); });
}

// clang-format off
const std::array all = {
    Mutant{"plate: the gesture does nothing", nullptr, no_gesture},
    Mutant{"plate: the gesture also turns off", nullptr, gesture_acts},
    Mutant{"plate: setup begins at channel 1", nullptr, begins_at_channel_one},
    Mutant{"plate: no beacon on entry", nullptr, no_entry_beacon},
    Mutant{"plate: no beacon but on entry", nullptr, entry_beacon_only},
    Mutant{"plate: no beacon at all", nullptr, plate_without<beacon>},
    Mutant{"plate: the time-out is ignored", nullptr, deaf_to_timer<Timer::time_out, PlateState>},
    Mutant{"plate: the leave button is ignored", nullptr, ignore_leave_button},
    Mutant{"plate: the identify button leaves", nullptr, identify_leaves},
    Mutant{"plate: leaving by button is not announced", nullptr, leaves_silently_by_button},
    Mutant{"plate: leaving by time-out is not announced", nullptr, leaves_silently_by_time_out},
    Mutant{"plate: next steps by two", nullptr, step_by_two},
    Mutant{"plate: next wraps at the last channel", nullptr, wrap_upwards},
    Mutant{"plate: previous wraps at channel 0", nullptr, wrap_downwards},
    Mutant{"plate: identify steps", nullptr, steps_at_identify},
    Mutant{"plate: nothing is identified", nullptr, plate_without<identify>},
    Mutant{"plate: the next channel is identified", nullptr, plate_sends_next<identify, &Telegram::channel>},
    Mutant{"plate: identify goes to the next zone", nullptr, plate_sends_next<identify, &Telegram::zone>},
    Mutant{"plate: nothing is assigned", nullptr, plate_without<assign>},
    Mutant{"plate: the next channel is assigned", nullptr, plate_sends_next<assign, &Telegram::channel>},
    Mutant{"plate: the next zone is assigned", nullptr, plate_sends_next<assign, &Telegram::zone>},
    Mutant{"plate: the next site is assigned", nullptr, plate_sends_next<assign, &Telegram::site>},
    Mutant{"plate: channel 0 is offered", nullptr, offers_anyway<Refusal::channel_zero>},
    Mutant{"plate: zone 0 is offered", nullptr, offers_anyway<Refusal::zone_zero>},
    Mutant{"plate: it hides that channel 0 is refused", nullptr, hides_refusal<Refusal::channel_zero>},
    Mutant{"plate: it hides that zone 0 is refused", nullptr, hides_refusal<Refusal::zone_zero>},
    Mutant{"plate: it hides that there is no such channel", nullptr, hides_refusal<Refusal::no_such_channel>},
    Mutant{"plate: a refusal never ends", nullptr, without_start<Timer::refuse, PlateState>},
    Mutant{"plate: blink before refuse", nullptr, blink_over_refuse},
    Mutant{"plate: blip before blink", nullptr, blip_over_blink},
    Mutant{"plate: steady for blink", nullptr, steady_for_blink},
    Mutant{"plate: no blips", nullptr, plate_shows_no_blips},
    Mutant{"plate: a blip never ends", nullptr, without_start<Timer::blip, PlateState>},
    Mutant{"plate: blips never sleep", nullptr, without_start<Timer::sleep, PlateState>},
    Mutant{"plate: a press does not wake blips", nullptr, press_does_not_wake<PlateState>},
    Mutant{"plate: next also turns on", nullptr, ordinary_meaning_in_setup},
    Mutant{"plate: nothing stops raise and lower", nullptr, plate_without<stop>},
    Mutant{"plate: on goes to the next zone", nullptr, plate_sends_next<on, &Telegram::zone>},
    Mutant{"plate: off goes to the next site", nullptr, plate_sends_next<off, &Telegram::site>},
    Mutant{"plate: a scene is stored under the next number", nullptr, plate_sends_next<store, &Telegram::argument>},
    Mutant{"plate: a long press is also a short one", nullptr, long_press_acts_twice},
    Mutant{"plate: two buttons at once are also one", nullptr, chord_acts},
    Mutant{"plate: contacts are not debounced", nullptr, never_settling<PlateState>},
};
// clang-format on

}  // namespace

std::span<const Mutant> plates() {
  return all;
}

}  // namespace drybus::model::mutant
