// Modules with one thing wrong.
#include <array>

#include "model/suite/mutant_shapes.h"

namespace drybus::model::mutant {

namespace {

// --- setup and memory ---

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
  show_again(family, state, effects);
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
  const bool first = is_heard(stimulus, assign) && state.mode == Mode::setup && state.spare == 0;
  if (first) {
    state.spare = 1;
    return module_deaf_to<assign>(family, stimulus, state, effects);
  }
  react(family, stimulus, state, effects);
  if (state.mode == Mode::normal) state.spare = 0;
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
  show_again(family, state, effects);
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

// --- what they obey ---

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
  show_again(family, state, effects);
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

// --- showing themselves ---

void no_flash(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const std::uint8_t before = state.flashing;
  react(family, stimulus, state, effects);
  if (!is_heard(stimulus, identify)) return;
  state.flashing = before;
  edit(effects, [](const Effect& e) { return e.kind != Effect::Kind::fade && !is_start(e, Timer::flash); });
}
void flash_stays(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (is_due(stimulus, Timer::flash))
    edit(effects, [](const Effect& e) { return e.kind != Effect::Kind::fade; });
}
void flashes_bright_only(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (!is_heard(stimulus, identify)) return;
  edit(effects, [](Effect& e) {
    if (e.kind == Effect::Kind::fade) e.value = full_level;
    return true;
  });
}
void flash_survives_commands(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  const bool flashed = state.flashing != 0 && stimulus.kind == Kind::telegram;
  const Level target = state.target;
  react(family, stimulus, state, effects);
  if (!flashed || state.target == target) return;
  state.flashing = 1;
  effects.start(Timer::flash, family.module.flash);
  effects.fade(target > full_level / 2 ? Level{0} : full_level, sim::Duration::zero());
}
void no_steady(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (state.steady == 0) return;
  state.steady = 0;
  edit(effects, [](const Effect& e) { return !is_start(e, Timer::steady); });
  show_again(family, state, effects);
}
void no_blips(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  react(family, stimulus, state, effects);
  if (state.blipping == 0) return;
  state.blipping = 0;
  edit(effects, [](const Effect& e) { return !is_start(e, Timer::blip); });
  show_again(family, state, effects);
}
void blink_over_steady(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const ModuleState& s) {
    return s.mode == Mode::setup ? Pattern::blink : shown_in(family, s);
  });
}
void breathe_over_blink(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const ModuleState& s) {
    return s.steady == 0 && s.breathing != 0 ? Pattern::breathe : shown_in(family, s);
  });
}
void breathe_over_steady(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const ModuleState& s) {
    return s.breathing != 0 && s.mode == Mode::normal ? Pattern::breathe : shown_in(family, s);
  });
}
void blip_over_breathe(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const ModuleState& s) {
    return shown_in(family, s) == Pattern::breathe && s.blipping != 0 ? Pattern::blip : shown_in(family, s);
  });
}
void blink_for_breathe(const Family& family, Stimulus stimulus, ModuleState& state, Effects& effects) {
  reacting_with_lamp(family, stimulus, state, effects, [&](const ModuleState& s) {
    return shown_in(family, s) == Pattern::breathe ? Pattern::blink : shown_in(family, s);
  });
}

// --- the local button ---

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

// clang-format off
const std::array all = {
    // Setup and memory.
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
    // Power.
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
    // What they obey.
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
    // Showing themselves.
    Mutant{"module: identify is ignored", nullptr, nullptr, module_deaf_to<identify>},
    Mutant{"module: it identifies for any channel", nullptr, nullptr, identifies_any_channel},
    Mutant{"module: it identifies for any zone", nullptr, nullptr, identifies_any_zone},
    Mutant{"module: unaddressed, it identifies", nullptr, nullptr, unaddressed_identifies},
    Mutant{"module: it does not flash", nullptr, nullptr, no_flash},
    Mutant{"module: a flash does not return", nullptr, nullptr, flash_stays},
    Mutant{"module: a flash is bright, lit or not", nullptr, nullptr, flashes_bright_only},
    Mutant{"module: a flash goes on after a command", nullptr, nullptr, flash_survives_commands},
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
    // The local button.
    Mutant{"module: a hold for setup switches the load, too", nullptr, nullptr, hold_switches_too},
    Mutant{"module: the local button acts when it goes down", nullptr, nullptr, switches_at_press},
    Mutant{"module: the local button turns on only", nullptr, nullptr, local_only_on},
    Mutant{"module: contacts are not debounced", nullptr, nullptr, never_settling<ModuleState>},
};
// clang-format on

}  // namespace

std::span<const Mutant> modules() {
  return all;
}

}  // namespace drybus::model::mutant
