#include "model/devices/module.h"

#include <algorithm>

#include "model/devices/blips.h"
#include "model/devices/take_row.h"

namespace drybus::model {

namespace {

/// One reaction in progress: the services that the rows of a module's machine name.
struct ModuleReaction {
  const Family& family;
  ModuleState& state;
  Effects& effects;
  RowsTaken* rows;
  const Telegram* telegram = nullptr;  ///< that is heard
  Level level = 0;                     ///< of the load, now; a flash apart
  mutable bool writes = false;         ///< this reaction has begun a write
  mutable bool takes_address = false;

  [[nodiscard]] const ModuleFamily& module() const { return family.module; }

  bool fire(Event event) const { return take_row(module().machine, *this, event, rows); }

  // --- what the interpreter asks ---

  [[nodiscard]] bool holds(Condition condition) const {
    const ModuleMemory& memory = state.memory;
    switch (condition) {
      case Condition::mine:
        return telegram != nullptr && is_for(*telegram, Scope::zone) && is_meant(module(), memory, *telegram);
      case Condition::for_me:
        return telegram != nullptr && memory.addressed() && memory.address == address_in(*telegram);
      case Condition::addressed:
        return memory.addressed();
      case Condition::offer_whole:
        return offer().channel != 0 && offer().zone != 0;
      case Condition::other_site:
        return offer().site != state.newest().address.site;
      case Condition::scene_stored:
        return scene_fits() && memory.scenes[telegram->argument - 1u] != no_scene_level;
      case Condition::scene_fits:
        return scene_fits();
      case Condition::lit:
        return level > 0 || state.target > 0;
      case Condition::power_up_off:
        return memory.power_up == PowerUp::off;
      case Condition::power_up_full:
        return memory.power_up == PowerUp::full;
      case Condition::power_up_last:
        return memory.power_up == PowerUp::last;
      case Condition::counted_enough:
        return module().supply_gesture.times != 0 && state.counted + 1 >= module().supply_gesture.times;
      case Condition::my_group:
        return telegram != nullptr && is_for(*telegram, Scope::group) &&
               is_meant(module(), memory, *telegram);
      case Condition::my_site:
        return telegram != nullptr && is_for(*telegram, Scope::site) && is_meant(module(), memory, *telegram);
      case Condition::at_channel_0:
      case Condition::at_channel_1:
      case Condition::at_last_channel:
      case Condition::zone_0:
        return false;  // a plate's
    }
    return false;
  }

  void taken(Event event) const {
    if (event == Event::gesture || event == Event::press) state.spent = 1;
    if (event == Event::gesture) effects.tell(Told::gesture);
  }

  void changed(Event event) const {
    const ModeReason why = takes_address ? ModeReason::assigned : reason_of(event);
    if (state.mode == Mode::normal) state.offered = {};
    effects.tell(Told::mode, static_cast<std::uint16_t>(state.mode), static_cast<std::uint32_t>(why));
  }

  void perform(const Action& action) const {
    switch (action.verb) {
      case Verb::wake:
        return wake_blips(family.indicator, state, effects);
      case Verb::blip:
        return show_blip(family.indicator, state, effects);
      case Verb::show:
        return show(static_cast<Pattern>(action.argument));
      case Verb::stop_showing:
        state.breathing = 0;
        return effects.stop(Timer::breathe);
      case Verb::send:
        return effects.send({static_cast<TelegramKind>(action.argument), state.memory.address.site,
                             state.memory.address.zone, state.memory.address.channel, 0});
      case Verb::start:
        return start(static_cast<Timer>(action.argument));
      case Verb::stop:
        return effects.stop(static_cast<Timer>(action.argument));
      case Verb::ignore_offer:
        return effects.tell(Told::assign_ignored);
      case Verb::keep_offer:
        state.offered = offer();
        return;
      case Verb::store_address:
        return store_address();
      case Verb::store_power_up:
        begin_write().power_up = static_cast<PowerUp>(action.argument);
        return;
      case Verb::store_scene:
        if (scene_fits()) begin_write().scenes[telegram->argument - 1u] = level;
        return;
      case Verb::fade_full:
        return obey_level(full_level);
      case Verb::fade_dark:
        return obey_level(0);
      case Verb::fade_scene:
        if (holds(Condition::scene_stored)) obey_level(state.memory.scenes[telegram->argument - 1u]);
        return;
      case Verb::raise:
        return move_to(full_level);
      case Verb::lower:
        return move_to(0);
      case Verb::halt:
        return halt();
      case Verb::flash:
        return flash();
      case Verb::light_full:
        return set_level(full_level, sim::Duration::zero());
      case Verb::light_last:
        return set_level(state.memory.last_level, sim::Duration::zero());
      case Verb::count_up:
        if (state.counted < 0xff) ++state.counted;
        return effects.start(Timer::count, module().supply_gesture.on_for);
      case Verb::count_afresh:
        state.counted = 0;
        return effects.stop(Timer::count);
      case Verb::refuse:
      case Verb::start_at_channel:
      case Verb::step_up:
      case Verb::step_down:
      case Verb::carry_out:
        return;  // a plate's
    }
  }

  // --- lamp and timers ---

  void show(Pattern pattern) const {
    if (pattern == Pattern::steady) {
      state.steady = 1;
      effects.start(Timer::steady, family.indicator.identify);
    } else {
      state.breathing = 1;
      effects.start(Timer::breathe, family.indicator.breathe);
    }
  }

  void start(Timer timer) const {
    const sim::Duration time = timer == Timer::ask       ? module().ask
                               : timer == Timer::confirm ? module().confirm
                                                         : module().time_out.after;
    effects.start(timer, time);
  }

  // --- the load ---

  void set_level(Level to, sim::Duration duration) const {
    if (state.flashing != 0) effects.stop(Timer::flash);
    state.flashing = 0;
    state.moving = 0;
    state.target = to;
    state.memory.last_level = to;
    if (state.storing != 0) state.writing.last_level = to;
    effects.fade(to, duration);
  }

  /// Somebody's telegram, not a hand or the supply.
  void obeyed() const {
    if (telegram != nullptr) effects.tell(Told::obeyed);
  }

  void obey_level(Level to) const {
    obeyed();
    set_level(to, module().fade);
  }

  /// An even pace: a part of the range takes that part of the time.
  void move_to(Level to) const {
    obeyed();
    const int from = level;
    const int part = to > from ? to - from : from - to;
    set_level(to, module().full_range * part / full_level);
    state.moving = 1;
  }

  /// Ends what raise or lower began; a fade to a level goes on.
  void halt() const {
    if (state.moving == 0) return;
    obeyed();
    set_level(level, sim::Duration::zero());
  }

  /// The load goes on beneath as if nothing had happened.
  void flash() const {
    state.flashing = 1;
    effects.flash(level > full_level / 2 ? Level{0} : full_level);
    effects.start(Timer::flash, module().flash);
  }

  void end_flash() const {
    state.flashing = 0;
    effects.flash_over();
  }

  // --- memory ---

  static Address address_in(const Telegram& telegram) {
    return {telegram.site, telegram.zone, telegram.channel};
  }
  /// What is offered now, or was kept.
  [[nodiscard]] Address offer() const {
    const bool now = telegram != nullptr && telegram->kind == TelegramKind::assign;
    return now ? address_in(*telegram) : state.offered;
  }
  [[nodiscard]] bool scene_fits() const {
    return telegram != nullptr && telegram->argument >= 1 && telegram->argument <= module().scenes;
  }

  void store_address() const {
    begin_write().address = offer();
    state.offered = {};
    takes_address = true;
  }

  /// What will be in memory when the write is over; one reaction makes one write.
  ModuleMemory& begin_write() const {
    if (state.storing == 0) state.writing = state.memory;
    state.storing = 1;
    if (!writes) {
      effects.tell(Told::store_begun);
      effects.start(Timer::store, module().store);
    }
    writes = true;
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

  // --- stimuli ---

  void power_on() const {
    const ModuleMemory kept = state.memory;
    const std::uint8_t counted = state.counted;
    state = {};
    state.memory = kept;
    state.counted = counted;
    fire(Event::power_on);
  }

  void heard() const {
    fire(model::heard(telegram->kind));
    fire(Event::heard_anything);
  }

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

  /// A press that no row takes may become a hold.
  void pressed() const {
    fire(Event::any_button);
    state.spent = 0;
    if (!fire(Event::press) && module().setup_hold > sim::Duration::zero()) {
      effects.start(Timer::hold, module().setup_hold);
    }
  }

  void released() const {
    effects.stop(Timer::hold);
    if (state.spent == 0) fire(Event::tap);
  }

  void due(const Stimulus& stimulus) const {
    switch (stimulus.timer) {
      case Timer::debounce:
        state.settling = 0;
        return contact_now((stimulus.contacts & 1) != 0);
      case Timer::hold:
        return static_cast<void>(fire(Event::gesture));
      case Timer::time_out:
        return static_cast<void>(fire(Event::time_out));
      case Timer::ask:
        return static_cast<void>(fire(Event::ask));
      case Timer::confirm:
        return static_cast<void>(fire(Event::confirm));
      case Timer::count:
        return static_cast<void>(fire(Event::count));
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
      case Timer::flash:
        return end_flash();
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
    memory.scenes[i] = i < family.scenes && family.factory_scenes
                           ? static_cast<Level>(full_level * (family.scenes - i) / family.scenes)
                           : no_scene_level;
  }
  return memory;
}

bool knows(const ModuleFamily& family, TelegramKind kind) {
  const auto& rows = family.machine.rows;
  return std::any_of(rows.begin(), rows.end(), [&](const MachineRow& row) { return row.on == heard(kind); });
}

bool knows(const ModuleFamily& family, TelegramKind kind, Scope scope) {
  if (scope == Scope::zone) return knows(family, kind);
  const Guard asks{scope == Scope::group ? Condition::my_group : Condition::my_site, true};
  const auto& rows = family.machine.rows;
  return std::any_of(rows.begin(), rows.end(), [&](const MachineRow& row) {
    return row.on == heard(kind) && std::find(row.when.begin(), row.when.end(), asks) != row.when.end();
  });
}

bool understands(const ModuleFamily& family, const Telegram& telegram) {
  const bool of_scenes = telegram.kind == TelegramKind::recall || telegram.kind == TelegramKind::store;
  const Scope scope = is_command(telegram.kind) ? static_cast<Scope>(telegram.channel) : Scope::zone;
  return knows(family, telegram.kind, scope) && (!of_scenes || telegram.argument <= family.scenes);
}

bool is_meant(const ModuleFamily& family, const ModuleMemory& memory, const Telegram& telegram) {
  if (is_for(telegram, Scope::zone)) return obeys(memory, telegram.site, telegram.zone);
  if (memory.address.site != telegram.site) return false;
  if (is_for(telegram, Scope::site)) return true;
  if (!is_for(telegram, Scope::group)) return false;
  return !memory.addressed() || in_one_group(family.group, memory.address.zone, telegram.zone);
}

bool in_one_group(std::uint8_t group, std::uint8_t zone, std::uint8_t other) {
  return group != 0 && zone != 0 && other != 0 && (zone - 1) / group == (other - 1) / group;
}

bool obeys(const ModuleMemory& memory, std::uint8_t site, std::uint8_t zone) {
  return memory.address.site == site && (!memory.addressed() || memory.address.zone == zone);
}

ModuleState after_power_cut(const ModuleFamily& family, const ModuleState& state, Level level) {
  const ModuleMemory factory = factory_memory(family);
  const bool torn = state.storing != 0 && family.memory.torn_write == TornWrite::factory;
  ModuleState left;
  left.memory = torn ? factory : state.memory;
  if (!torn) left.memory.last_level = level;
  if (!family.memory.address) left.memory.address = factory.address;
  if (!family.memory.scenes) left.memory.scenes = factory.scenes;
  if (!family.memory.power_up) left.memory.power_up = factory.power_up;
  if (!family.memory.last_level) left.memory.last_level = factory.last_level;
  left.counted = state.counted;
  return left;
}

Pattern shown_pattern(const ModuleFamily& family, const ModuleState& state) {
  const Machine& machine = family.machine;
  const unsigned wanted = (state.steady != 0 ? bit_of(Pattern::steady) : 0) |
                          (state.breathing != 0 ? bit_of(Pattern::breathe) : 0) |
                          (state.blipping != 0 ? bit_of(Pattern::blip) : 0);
  return machine.shown(machine.state_of(state.mode, state.stage), wanted);
}

void react(const Family& family, const Stimulus& stimulus, ModuleState& state, Effects& effects,
           RowsTaken* rows) {
  const bool hears = stimulus.kind == Stimulus::Kind::telegram;
  const ModuleReaction reaction{family,        state, effects, rows, hears ? &stimulus.telegram : nullptr,
                                stimulus.level};
  switch (stimulus.kind) {
    case Stimulus::Kind::power_on:
      reaction.power_on();
      break;
    case Stimulus::Kind::contacts:
      reaction.contact_now((stimulus.contacts & 1) != 0);
      break;
    case Stimulus::Kind::telegram:
      reaction.heard();
      break;
    case Stimulus::Kind::timer:
      reaction.due(stimulus);
      break;
  }
  if (const Pattern pattern = shown_pattern(family.module, state); pattern != state.shown) {
    state.shown = pattern;
    effects.show(pattern);
  }
}

}  // namespace drybus::model
