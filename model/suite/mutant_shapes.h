// What mutants are made of: reactions with one effect dropped, altered or added. For the tables of mutants
// only.
#pragma once

#include <algorithm>
#include <cstdint>
#include <span>

#include "model/suite/mutants.h"

namespace drybus::model::mutant {

using Kind = Stimulus::Kind;
using enum TelegramKind;

// --- effects ---

inline void add(Effects& effects, const Effect& effect) {
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

inline bool is_send(const Effect& effect, TelegramKind kind) {
  return effect.kind == Effect::Kind::send && effect.telegram.kind == kind;
}
inline bool is_start(const Effect& effect, Timer timer) {
  return effect.kind == Effect::Kind::start_timer && effect.which == static_cast<std::uint8_t>(timer);
}
inline bool is_stop(const Effect& effect, Timer timer) {
  return effect.kind == Effect::Kind::stop_timer && effect.which == static_cast<std::uint8_t>(timer);
}
inline bool is_due(const Stimulus& stimulus, Timer timer) {
  return stimulus.kind == Kind::timer && stimulus.timer == timer;
}
inline bool is_heard(const Stimulus& stimulus, TelegramKind kind) {
  return stimulus.kind == Kind::telegram && stimulus.telegram.kind == kind;
}

inline Pattern shown_in(const Family& family, const PlateState& state) {
  return shown_pattern(family.plate, state);
}
inline Pattern shown_in(const Family& family, const ModuleState& state) {
  return shown_pattern(family.module, state);
}

/// The pattern as it shows once more, after the state was changed behind the reaction's back.
template <class State>
void show_again(const Family& family, State& state, Effects& effects) {
  edit(effects, [](const Effect& e) { return e.kind != Effect::Kind::show; });
  state.shown = shown_in(family, state);
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

inline bool is_command(TelegramKind kind) {
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

/// The tables, each in its file.
std::span<const Mutant> families();
std::span<const Mutant> plates();
std::span<const Mutant> modules();

}  // namespace drybus::model::mutant
