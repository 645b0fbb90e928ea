#include "model/mutants.h"

#include <algorithm>
#include <array>
#include <bit>
#include <utility>

#include "model/run.h"

namespace drybus::model {

namespace {

using Kind = Stimulus::Kind;
using enum TelegramKind;

/// Time-outs and the like are off by this: less than anybody can see, and as little as a check can tell.
constexpr sim::Duration tick = std::chrono::milliseconds{100};

sim::Duration longer(sim::Duration duration) {
  return duration + duration / 10;
}
sim::Duration shorter(sim::Duration duration) {
  return duration - duration / 10;
}

// --- effects ---

void add(Effects& effects, const Effect& effect) {
  switch (effect.kind) {
    case Effect::Kind::start_timer:
      return effects.start(static_cast<Timer>(effect.which), effect.duration);
    case Effect::Kind::stop_timer:
      return effects.stop(static_cast<Timer>(effect.which));
    case Effect::Kind::send:
      return effects.send(effect.telegram);
    case Effect::Kind::show:
      return effects.show(static_cast<Pattern>(effect.which));
    case Effect::Kind::fade:
      return effects.fade(effect.value, effect.duration);
    case Effect::Kind::tell:
      return effects.tell(static_cast<Told>(effect.which), effect.value, effect.detail);
  }
}

/// Keeps those effects for which `change` answers true; it may alter them.
template <class Change>
void edit(Effects& effects, Change change) {
  const Effects before = effects;
  effects.clear();
  for (Effect effect : before) {
    if (change(effect)) add(effects, effect);
  }
}

bool is_send(const Effect& effect, TelegramKind kind) {
  return effect.kind == Effect::Kind::send && effect.telegram.kind == kind;
}
bool is_start(const Effect& effect, Timer timer) {
  return effect.kind == Effect::Kind::start_timer && effect.which == static_cast<std::uint8_t>(timer);
}
bool is_stop(const Effect& effect, Timer timer) {
  return effect.kind == Effect::Kind::stop_timer && effect.which == static_cast<std::uint8_t>(timer);
}
bool is_due(const Stimulus& stimulus, Timer timer) {
  return stimulus.kind == Kind::timer && stimulus.timer == timer;
}
bool is_heard(const Stimulus& stimulus, TelegramKind kind) {
  return stimulus.kind == Kind::telegram && stimulus.telegram.kind == kind;
}

/// The pattern as it shows once more, after the state was changed behind the reaction's back.
template <class State>
void show_again(State& state, Effects& effects) {
  edit(effects, [](const Effect& e) { return e.kind != Effect::Kind::show; });
  state.shown = shown_pattern(state);
  effects.show(state.shown);
}

/// The lamp shows what `choose` makes of the state instead.
template <class State, class Choose>
void reacting_with_lamp(const Family& family, const Stimulus& stimulus, State& state, Effects& effects,
                        Choose choose) {
  react(family, stimulus, state, effects);
  edit(effects, [](const Effect& e) { return e.kind != Effect::Kind::show; });
  effects.show(choose(state));
}

// --- shapes of mutants ---

/// The telegram is not sent.
template <TelegramKind kind>
void plate_without(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  edit(effects, [](const Effect& e) { return !is_send(e, kind); });
}

/// The telegram is sent as another.
template <TelegramKind kind, TelegramKind other>
void plate_sends(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  edit(effects, [](Effect& e) {
    if (is_send(e, kind)) e.telegram.kind = other;
    return true;
  });
}

/// A part of the telegram is one too many.
template <TelegramKind kind, std::uint8_t Telegram::*part>
void plate_sends_next(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  edit(effects, [](Effect& e) {
    if (is_send(e, kind)) e.telegram.*part = static_cast<std::uint8_t>(e.telegram.*part + 1);
    return true;
  });
}

/// The timer runs out and nothing comes of it.
template <Timer timer, class State>
void deaf_to_timer(const Family& family, Stimulus stimulus, State& state, Effects& effects) {
  if (!is_due(stimulus, timer)) react(family, stimulus, state, effects);
}

/// The timer is never started.
template <Timer timer, class State>
void without_start(const Family& family, Stimulus stimulus, State& state, Effects& effects) {
  react(family, stimulus, state, effects);
  edit(effects, [](const Effect& e) { return !is_start(e, timer); });
}

/// The timer is never stopped.
template <Timer timer, class State>
void without_stop(const Family& family, Stimulus stimulus, State& state, Effects& effects) {
  react(family, stimulus, state, effects);
  edit(effects, [](const Effect& e) { return !is_stop(e, timer); });
}

/// The module does not take that kind of telegram for its own business.
template <TelegramKind kind>
void module_deaf_to(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, kind)) {
    stimulus.telegram.kind = on;  // nobody's site: it blips, and that is all
    stimulus.telegram.site = static_cast<std::uint8_t>(state.memory.address.site + 1);
  }
  react(family, stimulus, state, effects);
}

/// It takes one kind of telegram for another.
template <TelegramKind kind, TelegramKind other>
void module_hears(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, kind)) stimulus.telegram.kind = other;
  react(family, stimulus, state, effects);
}

/// It takes a part of that telegram for one more than it is.
template <TelegramKind kind, std::uint8_t Telegram::*part>
void module_hears_next(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, kind)) {
    stimulus.telegram.*part = static_cast<std::uint8_t>(stimulus.telegram.*part + 1);
  }
  react(family, stimulus, state, effects);
}

bool is_command(TelegramKind kind) {
  return kind != assign && kind != identify;
}

/// It believes that a telegram of its own site (or any site) comes from its own zone.
template <bool any_site>
void module_obeys_more(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (stimulus.kind == Kind::telegram && is_command(stimulus.telegram.kind) && state.memory.addressed()) {
    const Address& own = state.memory.address;
    if (any_site || stimulus.telegram.site == own.site) {
      if (any_site && stimulus.telegram.zone == own.zone) stimulus.telegram.site = own.site;
      if (!any_site) stimulus.telegram.zone = own.zone;
    }
  }
  react(family, stimulus, state, effects);
}

/// What a restart of the blips' sleep is not: the timer goes on from where it was.
template <class State>
void press_does_not_wake(const Family& family, Stimulus stimulus, State& state, Effects& effects) {
  const std::uint8_t awake = state.awake;
  react(family, stimulus, state, effects);
  if (stimulus.kind == Kind::power_on) return;
  edit(effects, [](const Effect& e) { return !is_start(e, Timer::sleep); });
  if (stimulus.kind == Kind::contacts && awake == 0) state.awake = 0;
}

template <class State>
void never_settling(const Family& family, Stimulus stimulus, State& state, Effects& effects) {
  state.settling = 0;
  react(family, stimulus, state, effects);
}

// --- plates ---

void keep_channel(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const Mode before = state.mode;
  react(family, stimulus, state, effects);
  if (before == Mode::normal && state.mode == Mode::setup) state.channel = 1;
}

void wrong_entry_beacon(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  const Mode before = state.mode;
  react(family, stimulus, state, effects);
  if (before == Mode::setup) return;
  edit(effects, [](const Effect& e) { return !is_send(e, beacon); });
}

void one_beacon(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
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

void any_button_leaves(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
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
  show_again(state, effects);
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
  show_again(state, effects);
}

void blink_over_refuse(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const PlateState& s) {
    return s.mode == Mode::setup ? Pattern::blink : shown_pattern(s);
  });
}
void blip_over_blink(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const PlateState& s) {
    return s.refusing == 0 && s.blipping != 0 ? Pattern::blip : shown_pattern(s);
  });
}
void steady_for_blink(const Family& family, Stimulus stimulus, PlateState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const PlateState& s) {
    return shown_pattern(s) == Pattern::blink ? Pattern::steady : shown_pattern(s);
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

// --- modules: setup and memory ---

void hold_does_nothing(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_due(stimulus, Timer::hold)) return;
  react(family, stimulus, state, effects);
}

void press_does_not_leave(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool pressed = state.mode == Mode::setup && stimulus.kind == Kind::contacts && stimulus.contacts != 0;
  if (!pressed) react(family, stimulus, state, effects);
}

void stays_after_assign(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool was_setup = state.mode == Mode::setup;
  react(family, stimulus, state, effects);
  if (!was_setup || stimulus.kind != Kind::telegram || state.mode == Mode::setup) return;
  state.mode = Mode::setup;
  edit(effects, [](const Effect& e) {
    return !is_stop(e, Timer::time_out) &&
           !(e.kind == Effect::Kind::tell && e.which == static_cast<std::uint8_t>(Told::mode));
  });
  show_again(state, effects);
}

/// It takes assigns in the mode in which it should not.
template <bool in_setup_too>
void takes_in_normal_mode(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (!is_heard(stimulus, assign)) return react(family, stimulus, state, effects);
  if (state.mode == Mode::normal) {
    ModuleState waiting = state;
    waiting.mode = Mode::setup;
    react(family, stimulus, waiting, effects);
    state = waiting;
  } else if (in_setup_too) {
    react(family, stimulus, state, effects);
  } else {
    module_deaf_to<assign>(family, stimulus, state, effects);
  }
}

/// The first assign goes by; it takes the second.
void takes_the_second(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool first = is_heard(stimulus, assign) && state.mode == Mode::setup && state.unused == 0;
  if (first) {
    state.unused = 1;
    return module_deaf_to<assign>(family, stimulus, state, effects);
  }
  react(family, stimulus, state, effects);
  if (state.mode == Mode::normal) state.unused = 0;
}

void keeps_own_site(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, assign)) stimulus.telegram.site = state.memory.address.site;
  react(family, stimulus, state, effects);
}
void keeps_own_zone(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, assign) && state.memory.addressed())
    stimulus.telegram.zone = state.memory.address.zone;
  react(family, stimulus, state, effects);
}
void keeps_power_up_mode(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (is_heard(stimulus, assign) && state.storing != 0) state.writing.power_up = state.memory.power_up;
}
void always_powers_up_dark(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (is_heard(stimulus, assign) && state.storing != 0) state.writing.power_up = PowerUp::off;
}

void restarts_time_out(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (stimulus.kind == Kind::telegram && state.mode == Mode::setup) {
    effects.start(Timer::time_out, family.module.time_out.after);
  }
}

void deaf_in_setup(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (stimulus.kind == Kind::telegram && state.mode == Mode::setup && is_command(stimulus.telegram.kind)) {
    stimulus.telegram.site = static_cast<std::uint8_t>(state.memory.address.site + 1);
  }
  react(family, stimulus, state, effects);
}

void forgets_to_write_scenes(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const auto scenes = state.memory.scenes;
  react(family, stimulus, state, effects);
  state.memory.scenes = scenes;
}
void scenes_are_full(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (is_heard(stimulus, store) && state.storing != 0 && stimulus.telegram.argument >= 1) {
    state.writing.scenes[(stimulus.telegram.argument - 1u) % max_scenes] = full_level;
  }
}

/// Writing touches memory at once: a cut finds nothing half done.
void writes_at_once(const Family&, const ModuleState& before, ModuleState& left) {
  if (before.storing != 0) left.memory = before.writing;
}
void torn_write_keeps_old(const Family&, const ModuleState& before, ModuleState& left) {
  if (before.storing != 0) left.memory = before.memory;
}
void forgets_address(const Family& family, const ModuleState&, ModuleState& left) {
  left.memory.address = factory_memory(family.module).address;
}
void forgets_scenes(const Family& family, const ModuleState&, ModuleState& left) {
  left.memory.scenes = factory_memory(family.module).scenes;
}
void forgets_power_up_mode(const Family& family, const ModuleState&, ModuleState& left) {
  left.memory.power_up = family.module.factory_power_up;
}
void forgets_last_level(const Family&, const ModuleState&, ModuleState& left) {
  left.memory.last_level = 0;
}
void stays_in_setup(const Family&, const ModuleState& before, ModuleState& left) {
  left.mode = before.mode;
}

/// The other half of `stays_in_setup`.
void wakes_in_setup(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool goes_on = stimulus.kind == Kind::power_on && state.mode == Mode::setup;
  react(family, stimulus, state, effects);
  if (!goes_on) return;
  state.mode = Mode::setup;
  effects.tell(Told::mode, static_cast<std::uint16_t>(Mode::setup),
               static_cast<std::uint32_t>(ModeReason::power));
  effects.start(Timer::time_out, family.module.time_out.after);
  show_again(state, effects);
}

/// With another power-up mode than it has.
template <PowerUp own, PowerUp other>
void powers_up_as(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool wrong = stimulus.kind == Kind::power_on && state.memory.power_up == own;
  if (wrong) state.memory.power_up = other;
  react(family, stimulus, state, effects);
  if (wrong) state.memory.power_up = own;
}

void does_not_keep_last_level(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const Level before = state.memory.last_level;
  react(family, stimulus, state, effects);
  if (stimulus.kind == Kind::telegram) state.memory.last_level = before;
}

// --- modules: what they obey ---

void unaddressed_obeys_nobody(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (stimulus.kind == Kind::telegram && is_command(stimulus.telegram.kind) && !state.memory.addressed()) {
    stimulus.telegram.site = static_cast<std::uint8_t>(state.memory.address.site + 1);
  }
  react(family, stimulus, state, effects);
}
void unaddressed_obeys_everybody(const Family& family, Stimulus stimulus, ModuleState& state,
                                 Effects& effects) {
  if (stimulus.kind == Kind::telegram && is_command(stimulus.telegram.kind) && !state.memory.addressed()) {
    stimulus.telegram.site = state.memory.address.site;
  }
  react(family, stimulus, state, effects);
}
void unaddressed_minds_zone(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool foreign = stimulus.kind == Kind::telegram && is_command(stimulus.telegram.kind) &&
                       !state.memory.addressed() && stimulus.telegram.zone != state.memory.address.zone;
  if (foreign) stimulus.telegram.site = static_cast<std::uint8_t>(state.memory.address.site + 1);
  react(family, stimulus, state, effects);
}
void identifies_any_channel(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, identify) && state.memory.addressed())
    stimulus.telegram.channel = state.memory.address.channel;
  react(family, stimulus, state, effects);
}
void identifies_any_zone(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, identify) && state.memory.addressed())
    stimulus.telegram.zone = state.memory.address.zone;
  react(family, stimulus, state, effects);
}
void unaddressed_identifies(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (!is_heard(stimulus, identify) || state.memory.addressed()) return;
  state.steady = 1;
  effects.start(Timer::steady, family.indicator.identify);
  show_again(state, effects);
}
template <TelegramKind kind>
void heeds_any_plate(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  if (is_heard(stimulus, kind)) {
    stimulus.telegram.site = state.memory.address.site;
    stimulus.telegram.zone = state.memory.address.zone;
  }
  react(family, stimulus, state, effects);
}
void half_on(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (!is_heard(stimulus, on)) return;
  edit(effects, [&](Effect& e) {
    if (e.kind == Effect::Kind::fade) e.value = state.target = full_level / 2;
    return true;
  });
}
template <TelegramKind kind>
void jumps_at(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (!is_heard(stimulus, kind)) return;
  edit(effects, [](Effect& e) {
    if (e.kind == Effect::Kind::fade) e.duration = sim::Duration::zero();
    return true;
  });
}

// --- modules: showing themselves ---

void no_wink(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const std::uint8_t before = state.winking;
  react(family, stimulus, state, effects);
  if (!is_heard(stimulus, identify)) return;
  state.winking = before;
  edit(effects, [](const Effect& e) { return e.kind != Effect::Kind::fade && !is_start(e, Timer::wink); });
}
void wink_stays(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (is_due(stimulus, Timer::wink))
    edit(effects, [](const Effect& e) { return e.kind != Effect::Kind::fade; });
}
void winks_bright_only(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (!is_heard(stimulus, identify)) return;
  edit(effects, [](Effect& e) {
    if (e.kind == Effect::Kind::fade) e.value = full_level;
    return true;
  });
}
void wink_survives_commands(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool winked = state.winking != 0 && stimulus.kind == Kind::telegram;
  const Level target = state.target;
  react(family, stimulus, state, effects);
  if (!winked || state.target == target) return;
  state.winking = 1;
  effects.start(Timer::wink, family.module.wink);
  effects.fade(target > full_level / 2 ? Level{0} : full_level, sim::Duration::zero());
}
void no_steady(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (state.steady == 0) return;
  state.steady = 0;
  edit(effects, [](const Effect& e) { return !is_start(e, Timer::steady); });
  show_again(state, effects);
}
void no_blips(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (state.blipping == 0) return;
  state.blipping = 0;
  edit(effects, [](const Effect& e) { return !is_start(e, Timer::blip); });
  show_again(state, effects);
}
void blink_over_steady(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const ModuleState& s) {
    return s.mode == Mode::setup ? Pattern::blink : shown_pattern(s);
  });
}
void breathe_over_blink(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const ModuleState& s) {
    return s.steady == 0 && s.breathing != 0 ? Pattern::breathe : shown_pattern(s);
  });
}
void breathe_over_steady(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const ModuleState& s) {
    return s.breathing != 0 && s.mode == Mode::normal ? Pattern::breathe : shown_pattern(s);
  });
}
void blip_over_breathe(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const ModuleState& s) {
    return shown_pattern(s) == Pattern::breathe && s.blipping != 0 ? Pattern::blip : shown_pattern(s);
  });
}
void blink_for_breathe(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [](const ModuleState& s) {
    return shown_pattern(s) == Pattern::breathe ? Pattern::blink : shown_pattern(s);
  });
}

// --- modules: the local button ---

void hold_switches_too(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool entered = is_due(stimulus, Timer::hold);
  react(family, stimulus, state, effects);
  if (entered) state.spent = 0;
}
void switches_at_press(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool pressed = state.mode == Mode::normal && state.down == 0;
  react(family, stimulus, state, effects);
  if (!pressed || state.down == 0) return;
  state.target = state.target > 0 ? Level{0} : full_level;
  effects.fade(state.target, family.module.fade);
  state.spent = 1;
}
void local_only_on(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const std::uint8_t was_down = state.down;
  if (was_down != 0 && state.spent == 0) state.target = 0;
  react(family, stimulus, state, effects);
}

// --- families ---

template <Command one, Command other>
void swap_commands(Family& family) {
  const auto swapped = [](Binding& binding) {
    if (binding.command == one) {
      binding.command = other;
    } else if (binding.command == other) {
      binding.command = one;
    }
  };
  std::for_each(family.plate.press.begin(), family.plate.press.end(), swapped);
  std::for_each(family.plate.hold.begin(), family.plate.hold.end(), swapped);
}

void recall_next(Family& family) {
  for (Binding& binding : family.plate.press) {
    if (binding.command == Command::recall) ++binding.scene;
  }
}

constexpr auto flip = [](TimeOut& time_out) {
  time_out.from = time_out.from == CountedFrom::entry ? CountedFrom::last_press : CountedFrom::entry;
};

// clang-format off
constexpr std::array all_mutants = {
    // Times: one in ten more, one in ten less, and a tick where it decides whether two devices agree.
    Mutant{"plate: the time-out is 10 % longer", [](Family& f) { f.plate.time_out.after = longer(f.plate.time_out.after); }},
    Mutant{"plate: the time-out is 10 % shorter", [](Family& f) { f.plate.time_out.after = shorter(f.plate.time_out.after); }},
    Mutant{"plate: the time-out is a tick longer", [](Family& f) { f.plate.time_out.after += tick; }},
    Mutant{"plate: the time-out is a tick shorter", [](Family& f) { f.plate.time_out.after -= tick; }},
    Mutant{"plate: the time-out is counted from the other moment", [](Family& f) { flip(f.plate.time_out); }},
    Mutant{"module: the time-out is 10 % longer", [](Family& f) { f.module.time_out.after = longer(f.module.time_out.after); }},
    Mutant{"module: the time-out is 10 % shorter", [](Family& f) { f.module.time_out.after = shorter(f.module.time_out.after); }},
    Mutant{"module: the time-out is a tick longer", [](Family& f) { f.module.time_out.after += tick; }},
    Mutant{"module: the time-out is a tick shorter", [](Family& f) { f.module.time_out.after -= tick; }},
    Mutant{"module: the time-out is counted from the other moment", [](Family& f) { flip(f.module.time_out); }},
    Mutant{"plate: the gesture takes 10 % longer", [](Family& f) { f.plate.setup_hold = longer(f.plate.setup_hold); }},
    Mutant{"plate: the gesture takes 10 % less", [](Family& f) { f.plate.setup_hold = shorter(f.plate.setup_hold); }},
    Mutant{"module: the hold for setup takes 10 % longer", [](Family& f) { f.module.setup_hold = longer(f.module.setup_hold); }},
    Mutant{"module: the hold for setup takes 10 % less", [](Family& f) { f.module.setup_hold = shorter(f.module.setup_hold); }},
    Mutant{"plate: a long press takes 10 % longer", [](Family& f) { f.plate.long_press = longer(f.plate.long_press); }},
    Mutant{"plate: a long press takes 10 % less", [](Family& f) { f.plate.long_press = shorter(f.plate.long_press); }},
    Mutant{"plate: beacons come a third as often", [](Family& f) { f.plate.beacon *= 3; }},
    Mutant{"module: it breathes 10 % longer", [](Family& f) { f.indicator.breathe = longer(f.indicator.breathe); }},
    Mutant{"module: it breathes 10 % less", [](Family& f) { f.indicator.breathe = shorter(f.indicator.breathe); }},
    Mutant{"module: steady lasts 10 % longer", [](Family& f) { f.indicator.identify = longer(f.indicator.identify); }},
    Mutant{"module: steady lasts 10 % less", [](Family& f) { f.indicator.identify = shorter(f.indicator.identify); }},
    Mutant{"plate: a refusal shows 10 % longer", [](Family& f) { f.indicator.refuse = longer(f.indicator.refuse); }},
    Mutant{"plate: a refusal shows 10 % less", [](Family& f) { f.indicator.refuse = shorter(f.indicator.refuse); }},
    Mutant{"both: a blip lasts 10 % longer", [](Family& f) { f.indicator.blip = longer(f.indicator.blip); }},
    Mutant{"both: a blip lasts 10 % less", [](Family& f) { f.indicator.blip = shorter(f.indicator.blip); }},
    Mutant{"both: blips go to sleep 10 % later", [](Family& f) { f.indicator.blips_sleep = longer(f.indicator.blips_sleep); }},
    Mutant{"both: blips go to sleep 10 % sooner", [](Family& f) { f.indicator.blips_sleep = shorter(f.indicator.blips_sleep); }},
    Mutant{"module: a wink lasts 10 % longer", [](Family& f) { f.module.wink = longer(f.module.wink); }},
    Mutant{"module: a wink lasts 10 % less", [](Family& f) { f.module.wink = shorter(f.module.wink); }},
    Mutant{"module: a fade takes 10 % longer", [](Family& f) { f.module.fade = longer(f.module.fade); }},
    Mutant{"module: a fade takes 10 % less", [](Family& f) { f.module.fade = shorter(f.module.fade); }},
    Mutant{"module: raise and lower take 10 % longer", [](Family& f) { f.module.full_range = longer(f.module.full_range); }},
    Mutant{"module: raise and lower take 10 % less", [](Family& f) { f.module.full_range = shorter(f.module.full_range); }},
    Mutant{"module: a write takes no time", [](Family& f) { f.module.store = sim::Duration{1}; }},
    Mutant{"module: a write takes ten times as long", [](Family& f) { f.module.store *= 10; }},
    // Numbers and bindings.
    Mutant{"plate: one channel fewer", [](Family& f) { --f.plate.channels; }},
    Mutant{"plate: one channel more", [](Family& f) { ++f.plate.channels; }},
    Mutant{"module: one scene fewer", [](Family& f) { --f.module.scenes; }},
    Mutant{"module: a torn write leaves the next site number", [](Family& f) { ++f.module.factory_site; }},
    Mutant{"module: a torn write leaves it dark at power-up", [](Family& f) { f.module.factory_power_up = PowerUp::off; }},
    Mutant{"plate: it announces that it leaves where it should not, and not where it should", [](Family& f) { f.plate.announces_leaving = !f.plate.announces_leaving; }},
    Mutant{"plate: one button of the gesture is enough", [](Family& f) { f.plate.setup_gesture = only(static_cast<Button>(std::countr_zero(f.plate.setup_gesture))); }},
    Mutant{"plate: next and previous are swapped", [](Family& f) { std::swap(f.plate.next, f.plate.previous); }},
    Mutant{"plate: identify and assign are swapped", [](Family& f) { std::swap(f.plate.identify, f.plate.assign); }},
    Mutant{"plate: on and off are swapped", swap_commands<Command::on, Command::off>},
    Mutant{"plate: raise and lower are swapped", swap_commands<Command::raise, Command::lower>},
    Mutant{"plate: store and recall are swapped", swap_commands<Command::store, Command::recall>},
    Mutant{"plate: it recalls the next scene", recall_next},
    // Plates.
    Mutant{"plate: the gesture does nothing", nullptr, no_gesture},
    Mutant{"plate: the gesture also turns off", nullptr, gesture_acts},
    Mutant{"plate: setup begins at channel 1", nullptr, keep_channel},
    Mutant{"plate: no beacon on entry", nullptr, wrong_entry_beacon},
    Mutant{"plate: no beacon but on entry", nullptr, one_beacon},
    Mutant{"plate: no beacon at all", nullptr, plate_without<beacon>},
    Mutant{"plate: beacons go on after setup", nullptr, without_stop<Timer::beacon, PlateState>},
    Mutant{"plate: the time-out runs on after setup", nullptr, without_stop<Timer::time_out, PlateState>},
    Mutant{"plate: the time-out is ignored", nullptr, deaf_to_timer<Timer::time_out, PlateState>},
    Mutant{"plate: the leave button is ignored", nullptr, ignore_leave_button},
    Mutant{"plate: the identify button leaves", nullptr, any_button_leaves},
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
    // Modules: setup and memory.
    Mutant{"module: the hold for setup does nothing", nullptr, nullptr, hold_does_nothing},
    Mutant{"module: a press does not leave setup", nullptr, nullptr, press_does_not_leave},
    Mutant{"module: the time-out is ignored", nullptr, nullptr, deaf_to_timer<Timer::time_out, ModuleState>},
    Mutant{"module: any telegram restarts the time-out", nullptr, nullptr, restarts_time_out},
    Mutant{"module: it stays in setup after an assign", nullptr, nullptr, stays_after_assign},
    Mutant{"module: it takes an assign in normal mode, too", nullptr, nullptr, takes_in_normal_mode<true>},
    Mutant{"module: it takes an assign in normal mode only", nullptr, nullptr, takes_in_normal_mode<false>},
    Mutant{"module: it takes no assign", nullptr, nullptr, module_deaf_to<assign>},
    Mutant{"module: it takes the second assign", nullptr, nullptr, takes_the_second},
    Mutant{"module: it stores the next channel", nullptr, nullptr, module_hears_next<assign, &Telegram::channel>},
    Mutant{"module: it stores the next zone", nullptr, nullptr, module_hears_next<assign, &Telegram::zone>},
    Mutant{"module: it stores the next site", nullptr, nullptr, module_hears_next<assign, &Telegram::site>},
    Mutant{"module: it keeps its site", nullptr, nullptr, keeps_own_site},
    Mutant{"module: once addressed, it keeps its zone", nullptr, nullptr, keeps_own_zone},
    Mutant{"module: the power-up mode stays when the site changes", nullptr, nullptr, keeps_power_up_mode},
    Mutant{"module: the power-up mode changes though the site does not", nullptr, nullptr, always_powers_up_dark},
    Mutant{"module: it obeys nothing in setup", nullptr, nullptr, deaf_in_setup},
    Mutant{"module: the time-out runs on after setup", nullptr, nullptr, without_stop<Timer::time_out, ModuleState>, nullptr,
           "it leaves a mode in which it is not: nothing shows, and the next setup starts the time-out afresh"},
    // Modules: power.
    Mutant{"module: off powers up at full", nullptr, nullptr, powers_up_as<PowerUp::off, PowerUp::full>},
    Mutant{"module: full powers up dark", nullptr, nullptr, powers_up_as<PowerUp::full, PowerUp::off>},
    Mutant{"module: last powers up at full", nullptr, nullptr, powers_up_as<PowerUp::last, PowerUp::full>},
    Mutant{"module: telegrams do not change the last level", nullptr, nullptr, does_not_keep_last_level},
    Mutant{"module: a power cut takes the address", nullptr, nullptr, nullptr, forgets_address},
    Mutant{"module: a power cut takes the scenes", nullptr, nullptr, nullptr, forgets_scenes},
    Mutant{"module: a power cut takes the power-up mode", nullptr, nullptr, nullptr, forgets_power_up_mode},
    Mutant{"module: a power cut takes the last level", nullptr, nullptr, nullptr, forgets_last_level},
    Mutant{"module: setup survives a power cut", nullptr, nullptr, wakes_in_setup, stays_in_setup},
    Mutant{"module: a write that is cut is there all the same", nullptr, nullptr, nullptr, writes_at_once},
    Mutant{"module: a write that is cut leaves what was there", nullptr, nullptr, nullptr, torn_write_keeps_old},
    // Modules: what they obey.
    Mutant{"module: it obeys any zone", nullptr, nullptr, module_obeys_more<false>},
    Mutant{"module: it obeys any site", nullptr, nullptr, module_obeys_more<true>},
    Mutant{"module: unaddressed, it obeys nobody", nullptr, nullptr, unaddressed_obeys_nobody},
    Mutant{"module: unaddressed, it obeys everybody", nullptr, nullptr, unaddressed_obeys_everybody},
    Mutant{"module: unaddressed, it obeys zone 0 only", nullptr, nullptr, unaddressed_minds_zone},
    Mutant{"module: on is ignored", nullptr, nullptr, module_deaf_to<on>},
    Mutant{"module: off is ignored", nullptr, nullptr, module_deaf_to<off>},
    Mutant{"module: on is half", nullptr, nullptr, half_on},
    Mutant{"module: on does not fade", nullptr, nullptr, jumps_at<on>},
    Mutant{"module: raise is ignored", nullptr, nullptr, module_deaf_to<raise>},
    Mutant{"module: lower is ignored", nullptr, nullptr, module_deaf_to<lower>},
    Mutant{"module: lower raises", nullptr, nullptr, module_hears<lower, raise>},
    Mutant{"module: raise jumps to the end", nullptr, nullptr, jumps_at<raise>},
    Mutant{"module: stop is ignored", nullptr, nullptr, module_deaf_to<stop>},
    Mutant{"module: recall is ignored", nullptr, nullptr, module_deaf_to<recall>},
    Mutant{"module: it recalls the next scene", nullptr, nullptr, module_hears_next<recall, &Telegram::argument>},
    Mutant{"module: store is ignored", nullptr, nullptr, module_deaf_to<store>},
    Mutant{"module: it stores the next scene", nullptr, nullptr, module_hears_next<store, &Telegram::argument>},
    Mutant{"module: a stored scene never gets to memory", nullptr, nullptr, forgets_to_write_scenes},
    Mutant{"module: every stored scene is full", nullptr, nullptr, scenes_are_full},
    // Modules: showing themselves.
    Mutant{"module: identify is ignored", nullptr, nullptr, module_deaf_to<identify>},
    Mutant{"module: it identifies for any channel", nullptr, nullptr, identifies_any_channel},
    Mutant{"module: it identifies for any zone", nullptr, nullptr, identifies_any_zone},
    Mutant{"module: unaddressed, it identifies", nullptr, nullptr, unaddressed_identifies},
    Mutant{"module: it does not wink", nullptr, nullptr, no_wink},
    Mutant{"module: a wink does not return", nullptr, nullptr, wink_stays},
    Mutant{"module: a wink is bright, lit or not", nullptr, nullptr, winks_bright_only},
    Mutant{"module: a wink goes on after a command", nullptr, nullptr, wink_survives_commands},
    Mutant{"module: identify shows on the load only", nullptr, nullptr, no_steady},
    Mutant{"module: steady never ends", nullptr, nullptr, without_start<Timer::steady, ModuleState>},
    Mutant{"module: beacons are ignored", nullptr, nullptr, module_deaf_to<beacon>},
    Mutant{"module: it breathes for any plate", nullptr, nullptr, heeds_any_plate<beacon>},
    Mutant{"module: it breathes on when its plate has left", nullptr, nullptr, module_deaf_to<left>},
    Mutant{"module: any plate that leaves ends its breathing", nullptr, nullptr, heeds_any_plate<left>},
    Mutant{"module: breathing never ends", nullptr, nullptr, without_start<Timer::breathe, ModuleState>},
    Mutant{"module: no blips", nullptr, nullptr, no_blips},
    Mutant{"module: a blip never ends", nullptr, nullptr, without_start<Timer::blip, ModuleState>},
    Mutant{"module: blips never sleep", nullptr, nullptr, without_start<Timer::sleep, ModuleState>},
    Mutant{"module: a press does not wake blips", nullptr, nullptr, press_does_not_wake<ModuleState>},
    Mutant{"module: blink before steady", nullptr, nullptr, blink_over_steady},
    Mutant{"module: breathe before blink", nullptr, nullptr, breathe_over_blink},
    Mutant{"module: breathe before steady", nullptr, nullptr, breathe_over_steady},
    Mutant{"module: blip before breathe", nullptr, nullptr, blip_over_breathe},
    Mutant{"module: blink for breathe", nullptr, nullptr, blink_for_breathe},
    // Modules: the local button.
    Mutant{"module: a hold for setup switches the load, too", nullptr, nullptr, hold_switches_too},
    Mutant{"module: the local button acts when it goes down", nullptr, nullptr, switches_at_press},
    Mutant{"module: the local button turns on only", nullptr, nullptr, local_only_on},
    Mutant{"module: contacts are not debounced", nullptr, nullptr, never_settling<ModuleState>},
};
// clang-format on

/// The reference model with a mutant's difference.
class MutantLogic final : public DeviceLogic {
 public:
  explicit MutantLogic(const Mutant& mutant) : mutant_(mutant) {}

  void plate(const Family& family, const Stimulus& stimulus, PlateState& state, Effects& effects) override {
    if (mutant_.plate == nullptr) return react(family, stimulus, state, effects);
    mutant_.plate(family, stimulus, state, effects);
  }
  void module(const Family& family, const Stimulus& stimulus, ModuleState& state, Effects& effects) override {
    if (mutant_.module == nullptr) return react(family, stimulus, state, effects);
    mutant_.module(family, stimulus, state, effects);
  }
  void module_lost_power(const Family& family, const ModuleState& before, ModuleState& left) override {
    if (mutant_.module_lost_power != nullptr) mutant_.module_lost_power(family, before, left);
  }

 private:
  const Mutant& mutant_;
};

RunResult plain_run(const Scenario& scenario, const Mutant& mutant, bool stop_at_failure) {
  MutantLogic logic{mutant};
  RunOptions options;
  options.logic = &logic;
  options.stop_at_failure = stop_at_failure;
  options.plain = true;
  if (mutant.family == nullptr) return run(scenario, options);
  Scenario altered = scenario;
  mutant.family(altered.site.family);
  return run(altered, options);
}

// --- the check that is missing ---

constexpr std::array plate_facts = {Fact::mode, Fact::indicator, Fact::channel};
constexpr std::array module_facts = {Fact::mode, Fact::address, Fact::power_up, Fact::level, Fact::indicator};

/// The scenario with every fact looked at before each step of the installer's. Steps stay where they are in
/// time.
class Probed {
 public:
  explicit Probed(const Scenario& original) : scenario(original) {
    scenario.checks.clear();
    for (Person& person : scenario.people) {
      for (Step& step : person.script) step.checks.clear();
    }
    std::vector<Step> script;
    for (const Step& step : original.people.front().script) {
      script.push_back(probe(step.at));
      script.push_back(step);
      script.back().checks.clear();
    }
    script.push_back(probe(std::nullopt));
    scenario.people.front().script = std::move(script);
  }

  /// The step that a check comes before.
  [[nodiscard]] StepRef before(std::uint32_t check) const {
    return {0, static_cast<std::uint32_t>(check / checks_each_)};
  }

  Scenario scenario;

 private:
  Step probe(std::optional<sim::Instant> at) {
    Step step;
    step.kind = StepKind::expect;
    step.at = at;
    const auto look = [&](DeviceId device, Fact fact) {
      step.checks.push_back(static_cast<std::uint32_t>(scenario.checks.size()));
      scenario.checks.push_back({fact, device, {std::string{}}, false, {}});
    };
    for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
      const auto device = static_cast<DeviceId>(i);
      if (scenario.site.is_plate(device)) {
        for (const Fact fact : plate_facts) look(device, fact);
      } else {
        for (const Fact fact : module_facts) look(device, fact);
      }
    }
    look(no_device, Fact::findings);
    checks_each_ = step.checks.size();
    return step;
  }

  std::size_t checks_each_ = 1;
};

}  // namespace

std::span<const Mutant> mutants() {
  return all_mutants;
}

bool kills(const Scenario& scenario, const Mutant& mutant) {
  return !plain_run(scenario, mutant, true).passed();
}

std::optional<std::size_t> killer_of(const Mutant& mutant, std::span<const Scenario* const> scenarios) {
  const auto killer = std::find_if(scenarios.begin(), scenarios.end(),
                                   [&](const Scenario* scenario) { return kills(*scenario, mutant); });
  if (killer == scenarios.end()) return std::nullopt;
  return static_cast<std::size_t>(killer - scenarios.begin());
}

std::optional<MissingCheck> missing_check(const Mutant& mutant, std::span<const Scenario* const> scenarios) {
  for (std::size_t i = 0; i < scenarios.size(); ++i) {
    const Probed probed{*scenarios[i]};
    const RunResult reference = plain_run(probed.scenario, Mutant{}, false);
    const RunResult altered = plain_run(probed.scenario, mutant, false);
    const std::size_t count = std::min(reference.checks.size(), altered.checks.size());
    for (std::size_t c = 0; c < count; ++c) {
      const CheckResult& wanted = reference.checks[c];
      if (wanted.actual == altered.checks[c].actual) continue;
      Check check = probed.scenario.checks[wanted.check];
      check.wanted = {wanted.actual};
      return MissingCheck{i, probed.before(wanted.check), wanted.at, std::move(check),
                          altered.checks[c].actual};
    }
  }
  return std::nullopt;
}

}  // namespace drybus::model
