#include "model/devices/module.h"

namespace drybus::model {

namespace {

/// One reaction in progress.
struct Reaction {
  const Family& family;
  ModuleState& state;
  Effects& effects;

  [[nodiscard]] const ModuleFamily& module() const { return family.module; }

  void power_on() const {
    const ModuleMemory kept = state.memory;
    state = {};
    state.memory = kept;
    wake();
    switch (kept.power_up) {
      case PowerUp::off:
        return;
      case PowerUp::full:
        return set_level(full_level, sim::Duration::zero());
      case PowerUp::last:
        return set_level(kept.last_level, sim::Duration::zero());
    }
  }

  void wake() const {
    if (state.awake == 0) effects.tell(Told::blips_awake, 1);
    state.awake = 1;
    effects.start(Timer::sleep, family.indicator.blips_sleep);
  }

  // --- the load ---

  void set_level(Level level, sim::Duration duration) const {
    if (state.winking != 0) {
      effects.stop(Timer::wink);
      end_wink();
    }
    state.target = level;
    state.memory.last_level = level;
    if (state.storing != 0) state.writing.last_level = level;
    effects.fade(level, duration);
  }

  /// An even pace: a part of the range takes that part of the time.
  void move_to(Level target, Level now) const {
    const int part = target > now ? target - now : now - target;
    set_level(target, module().full_range * part / full_level);
  }

  void wink() const {
    state.winking = 1;
    effects.fade(state.target > full_level / 2 ? Level{0} : full_level, sim::Duration::zero());
    effects.start(Timer::wink, module().wink);
  }

  void end_wink() const {
    state.winking = 0;
    effects.fade(state.target, sim::Duration::zero());
  }

  // --- setup and memory ---

  void enter_setup() const {
    state.mode = Mode::setup;
    state.spent = 1;
    effects.tell(Told::gesture);
    effects.tell(Told::mode, static_cast<std::uint16_t>(Mode::setup),
                 static_cast<std::uint32_t>(ModeReason::gesture));
    effects.start(Timer::time_out, module().time_out.after);
  }

  void leave_setup(ModeReason why) const {
    state.mode = Mode::normal;
    effects.tell(Told::mode, static_cast<std::uint16_t>(Mode::normal), static_cast<std::uint32_t>(why));
    effects.stop(Timer::time_out);
  }

  void take(const Telegram& assign) const {
    if (state.mode != Mode::setup) return effects.tell(Told::assign_ignored);
    if (assign.channel == 0 || assign.zone == 0) return;
    ModuleMemory& next = begin_write();
    if (assign.site != next.address.site) next.power_up = PowerUp::off;
    next.address = {assign.site, assign.zone, assign.channel};
    leave_setup(ModeReason::assigned);
  }

  ModuleMemory& begin_write() const {
    if (state.storing == 0) state.writing = state.memory;
    state.storing = 1;
    effects.tell(Told::store_begun);
    effects.start(Timer::store, module().store);
    return state.writing;
  }

  void end_write() const {
    const bool power_up_changed = state.writing.power_up != state.memory.power_up;
    state.memory = state.writing;
    state.writing = {};
    state.storing = 0;
    effects.tell(Told::stored);
    if (power_up_changed) effects.tell(Told::power_up, static_cast<std::uint16_t>(state.memory.power_up));
  }

  // --- telegrams ---

  void heard(const Telegram& telegram, Level level) const {
    if (telegram.kind == TelegramKind::assign) {
      take(telegram);
    } else if (telegram.kind == TelegramKind::identify) {
      show_myself(telegram);
    } else if (obeys(state.memory, telegram.site, telegram.zone)) {
      obey(telegram, level);
    }
    blip();
  }

  void show_myself(const Telegram& identify) const {
    if (!state.memory.addressed() ||
        state.memory.address != Address{identify.site, identify.zone, identify.channel}) {
      return;
    }
    state.steady = 1;
    effects.start(Timer::steady, family.indicator.identify);
    wink();
  }

  void obey(const Telegram& telegram, Level level) const {
    if (state.winking != 0) level = state.target;  // the wink is a show, not where the load is
    switch (telegram.kind) {
      case TelegramKind::beacon:
        state.breathing = 1;
        return effects.start(Timer::breathe, family.indicator.breathe);
      case TelegramKind::left:
        state.breathing = 0;
        return effects.stop(Timer::breathe);
      case TelegramKind::on:
        return obey_level(full_level);
      case TelegramKind::off:
        return obey_level(0);
      case TelegramKind::recall:
        return recall(telegram.argument);
      case TelegramKind::store:
        return store_scene(telegram.argument);
      case TelegramKind::raise:
        effects.tell(Told::obeyed);
        return move_to(full_level, level);
      case TelegramKind::lower:
        effects.tell(Told::obeyed);
        return move_to(0, level);
      case TelegramKind::stop:
        effects.tell(Told::obeyed);
        return set_level(level, sim::Duration::zero());
      case TelegramKind::identify:
      case TelegramKind::assign:
        return;
    }
  }

  void obey_level(Level level) const {
    effects.tell(Told::obeyed);
    set_level(level, module().fade);
  }

  [[nodiscard]] bool has_scene(std::uint8_t scene) const { return scene >= 1 && scene <= module().scenes; }

  void recall(std::uint8_t scene) const {
    if (!has_scene(scene) || state.memory.scenes[scene - 1u] == no_scene_level) return;
    obey_level(state.memory.scenes[scene - 1u]);
  }

  void store_scene(std::uint8_t scene) const {
    if (has_scene(scene)) begin_write().scenes[scene - 1u] = state.target;
  }

  void blip() const {
    if (state.awake == 0) return effects.tell(Told::blip_unshown);
    state.blipping = 1;
    effects.start(Timer::blip, family.indicator.blip);
  }

  // --- the local button ---

  void contact_now(bool down) const {
    if (state.settling != 0 || down == (state.down != 0)) return;
    state.down = down ? 1 : 0;
    state.settling = 1;
    effects.start(Timer::debounce, family.debounce);
    if (state.mode == Mode::setup && module().time_out.from == CountedFrom::last_press) {
      effects.start(Timer::time_out, module().time_out.after);
    }
    down ? pressed() : released();
  }

  void pressed() const {
    wake();
    state.spent = 0;
    if (state.mode == Mode::setup) {
      state.spent = 1;
      return leave_setup(ModeReason::button);
    }
    effects.start(Timer::hold, module().setup_hold);
  }

  void released() const {
    effects.stop(Timer::hold);
    if (state.spent != 0) return;
    set_level(state.target > 0 ? Level{0} : full_level, module().fade);
  }

  void due(const Stimulus& stimulus) const {
    switch (stimulus.timer) {
      case Timer::debounce:
        state.settling = 0;
        return contact_now((stimulus.contacts & 1) != 0);
      case Timer::hold:
        return enter_setup();
      case Timer::time_out:
        return leave_setup(ModeReason::time_out);
      case Timer::steady:
        state.steady = 0;
        return;
      case Timer::breathe:
        state.breathing = 0;
        return;
      case Timer::blip:
        state.blipping = 0;
        return;
      case Timer::sleep:
        state.awake = 0;
        return effects.tell(Told::blips_awake, 0);
      case Timer::wink:
        return end_wink();
      case Timer::store:
        return end_write();
      case Timer::beacon:
      case Timer::refuse:
        return;  // a module has none of these
    }
  }
};

}  // namespace

ModuleMemory factory_memory(const ModuleFamily& family) {
  ModuleMemory memory;
  memory.address.site = family.factory_site;
  memory.power_up = family.factory_power_up;
  for (std::size_t i = 0; i < max_scenes; ++i) {
    memory.scenes[i] = i < family.scenes
                           ? static_cast<Level>(full_level * (family.scenes - i) / family.scenes)
                           : no_scene_level;
  }
  return memory;
}

bool obeys(const ModuleMemory& memory, std::uint8_t site, std::uint8_t zone) {
  return memory.address.site == site && (!memory.addressed() || memory.address.zone == zone);
}

Pattern shown_pattern(const ModuleState& state) {
  if (state.steady != 0) return Pattern::steady;
  if (state.mode == Mode::setup) return Pattern::blink;
  if (state.breathing != 0) return Pattern::breathe;
  if (state.blipping != 0) return Pattern::blip;
  return Pattern::dark;
}

void react(const Family& family, const Stimulus& stimulus, ModuleState& state, Effects& effects) {
  const Reaction reaction{family, state, effects};
  switch (stimulus.kind) {
    case Stimulus::Kind::power_on:
      reaction.power_on();
      break;
    case Stimulus::Kind::contacts:
      reaction.contact_now((stimulus.contacts & 1) != 0);
      break;
    case Stimulus::Kind::telegram:
      reaction.heard(stimulus.telegram, stimulus.level);
      break;
    case Stimulus::Kind::timer:
      reaction.due(stimulus);
      break;
  }
  if (const Pattern pattern = shown_pattern(state); pattern != state.shown) {
    state.shown = pattern;
    effects.show(pattern);
  }
}

}  // namespace drybus::model
