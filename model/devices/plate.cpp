#include "model/devices/plate.h"

#include <algorithm>
#include <bit>

#include "model/devices/blips.h"
#include "model/devices/take_row.h"

namespace drybus::model {

namespace {

/// A command for those for whom a button speaks.
Telegram addressed_to(Whom whom, TelegramKind kind, std::uint8_t site, std::uint8_t zone,
                      std::uint8_t argument) {
  Telegram telegram{kind, site, zone, 0, argument};
  switch (whom) {
    case Whom::zone:
      break;
    case Whom::next_zone:
      ++telegram.zone;
      break;
    case Whom::group:
      telegram.channel = static_cast<std::uint8_t>(Scope::group);
      break;
    case Whom::whole_site:
      telegram.channel = static_cast<std::uint8_t>(Scope::site);
      break;
  }
  return telegram;
}

std::optional<TelegramKind> kind_of(Command command) {
  switch (command) {
    case Command::nothing:
      return std::nullopt;
    case Command::on:
      return TelegramKind::on;
    case Command::off:
      return TelegramKind::off;
    case Command::recall:
      return TelegramKind::recall;
    case Command::store:
      return TelegramKind::store;
    case Command::raise:
      return TelegramKind::raise;
    case Command::lower:
      return TelegramKind::lower;
  }
  return std::nullopt;
}

/// One reaction in progress: the services that the rows of a plate's machine name.
struct PlateReaction {
  const Family& family;
  PlateState& state;
  Effects& effects;
  RowsTaken* rows;
  mutable const Binding* command = nullptr;  ///< for Event::command

  [[nodiscard]] const PlateFamily& plate() const { return family.plate; }

  bool fire(Event event) const { return take_row(plate().machine, *this, event, rows); }

  // --- what the interpreter asks ---

  [[nodiscard]] bool holds(Condition condition) const {
    switch (condition) {
      case Condition::at_channel_0:
        return state.channel == 0;
      case Condition::at_channel_1:
        return state.channel == 1;
      case Condition::at_last_channel:
        return state.channel >= plate().channels;
      case Condition::zone_0:
        return state.zone == 0;
      case Condition::mine:
      case Condition::for_me:
      case Condition::addressed:
      case Condition::offer_whole:
      case Condition::other_site:
      case Condition::scene_stored:
      case Condition::scene_fits:
      case Condition::lit:
      case Condition::power_up_off:
      case Condition::power_up_full:
      case Condition::power_up_last:
      case Condition::counted_enough:
      case Condition::my_group:
      case Condition::my_site:
        return false;  // a module's
    }
    return false;
  }

  void taken(Event event) const {
    if (event != Event::gesture) return;
    state.spent = 1;
    effects.tell(Told::gesture);
  }

  void changed(Event event) const {
    if (state.mode == Mode::normal) {
      state.channel = 0;
      state.spent = state.down != 0 ? 1 : 0;
      state.tracked = no_button;
    }
    effects.tell(Told::mode, static_cast<std::uint16_t>(state.mode),
                 static_cast<std::uint32_t>(reason_of(event)));
  }

  void perform(const Action& action) const {
    switch (action.verb) {
      case Verb::wake:
        return wake_blips(family.indicator, state, effects);
      case Verb::blip:
        return show_blip(family.indicator, state, effects);
      case Verb::refuse:
        return refuse(static_cast<Refusal>(action.argument));
      case Verb::send:
        return send_from_setup(static_cast<TelegramKind>(action.argument));
      case Verb::start:
        return start(static_cast<Timer>(action.argument));
      case Verb::stop:
        return effects.stop(static_cast<Timer>(action.argument));
      case Verb::start_at_channel:
        state.channel = action.argument;
        return;
      case Verb::step_up:
        return go_to_channel(state.channel + 1);
      case Verb::step_down:
        return go_to_channel(state.channel - 1);
      case Verb::carry_out:
        if (command != nullptr) carry_out(*command);
        return;
      case Verb::show:
      case Verb::stop_showing:
      case Verb::ignore_offer:
      case Verb::keep_offer:
      case Verb::store_address:
      case Verb::store_power_up:
      case Verb::store_scene:
      case Verb::fade_full:
      case Verb::fade_dark:
      case Verb::fade_scene:
      case Verb::raise:
      case Verb::lower:
      case Verb::halt:
      case Verb::flash:
      case Verb::light_full:
      case Verb::light_last:
      case Verb::count_up:
      case Verb::count_afresh:
        return;  // a module's
    }
  }

  // --- services ---

  void power_on() const {
    const PlateState before = state;
    state = {};
    state.site = before.site;
    state.zone = before.zone;
    fire(Event::power_on);
  }

  void refuse(Refusal why) const {
    state.refusing = 1;
    effects.start(Timer::refuse, family.indicator.refuse);
    effects.tell(Told::refused, static_cast<std::uint16_t>(why));
  }

  void start(Timer timer) const {
    effects.start(timer, timer == Timer::beacon ? plate().beacon : plate().time_out.after);
  }

  void send(TelegramKind kind) const { effects.send({kind, state.site, state.zone, 0, 0}); }

  void send_from_setup(TelegramKind kind) const {
    if (kind != TelegramKind::identify && kind != TelegramKind::assign) return send(kind);
    effects.send({kind, state.site, state.zone, state.channel, 0});
  }

  void go_to_channel(int channel) const {
    state.channel = static_cast<std::uint8_t>(channel);
    effects.tell(Told::channel, state.channel);
  }

  void pressed_in_setup(Button button) const {
    if (button == plate().next) return static_cast<void>(fire(Event::next));
    if (button == plate().previous) return static_cast<void>(fire(Event::previous));
    if (button == plate().identify) return static_cast<void>(fire(Event::identify));
    if (button == plate().assign) return static_cast<void>(fire(Event::assign));
    if (button == plate().leave) fire(Event::leave);
  }

  // --- normal mode ---

  void give(const Binding& binding) const {
    command = &binding;
    fire(Event::command);
  }

  void carry_out(const Binding& binding) const {
    const auto telegram = telegram_of(binding, state.site, state.zone);
    if (!telegram) return;
    // A stop for the same zones ends it.
    if (binding.command == Command::raise || binding.command == Command::lower)
      state.moving = static_cast<std::uint8_t>(1 + static_cast<int>(binding.whom));
    effects.send(*telegram);
  }

  /// A button that can also be held, alone or in the gesture, shows what was meant only when it comes up again.
  [[nodiscard]] bool waits_for_release(Button button) const {
    return plate().hold[button].command != Command::nothing || (plate().setup_gesture & only(button)) != 0;
  }

  void pressed_in_normal_mode(Button button) const {
    if (state.down != only(button)) state.spent = 1;  // a chord: never anybody's single press
    if (!waits_for_release(button)) {
      if (state.spent == 0) give(plate().press[button]);
      state.spent = 1;
    }
    state.tracked = button;
  }

  /// Starts or stops the hold timer to suit the buttons that are down now.
  void time_the_hold() const {
    if (state.down == plate().setup_gesture) return effects.start(Timer::hold, plate().setup_hold);
    const bool held_alone =
        state.spent == 0 && state.tracked != no_button && state.down == only(state.tracked);
    if (held_alone && plate().hold[state.tracked].command != Command::nothing) {
      return effects.start(Timer::hold, plate().long_press);
    }
    effects.stop(Timer::hold);
  }

  void held_long_enough() const {
    if (state.mode == Mode::setup) return;
    if (state.down == plate().setup_gesture) return static_cast<void>(fire(Event::gesture));
    if (state.spent == 0 && state.tracked != no_button) {
      state.spent = 1;
      give(plate().hold[state.tracked]);
    }
  }

  void released(Button button) const {
    if (state.moving != 0) {
      const auto whom = static_cast<Whom>(state.moving - 1);
      state.moving = 0;
      effects.send(addressed_to(whom, TelegramKind::stop, state.site, state.zone, 0));
    } else if (state.mode == Mode::normal && state.spent == 0 && button == state.tracked) {
      give(plate().press[button]);
    }
  }

  // --- contacts ---

  /// Each button settles on its own: that one bounces makes no other deaf.
  void contacts_now(Buttons contacts) const {
    const auto changed = static_cast<Buttons>((contacts ^ state.down) & ~state.settling);
    if (changed == 0) return;
    const auto fresh = static_cast<Buttons>(contacts & changed);
    const auto gone = static_cast<Buttons>(state.down & changed);
    state.down ^= changed;
    state.settling |= changed;
    effects.settle(changed, family.debounce);
    const bool was_setup = state.mode == Mode::setup;
    for_each(gone, [&](Button button) { released(button); });
    if (fresh != 0) fire(Event::any_button);
    // Once for all of them: sixteen buttons at a time would be more effects than a reaction may have.
    if (fresh != 0 && was_setup && plate().time_out.from == CountedFrom::last_press) {
      effects.start(Timer::time_out, plate().time_out.after);
    }
    for_each(fresh, [&](Button button) {
      state.mode == Mode::setup ? pressed_in_setup(button) : pressed_in_normal_mode(button);
    });
    if (state.mode == Mode::normal && !was_setup) time_the_hold();
    if (state.down == 0) {
      state.spent = 0;
      state.tracked = no_button;
    }
  }

  template <class Visit>
  static void for_each(Buttons set, Visit visit) {
    for (; set != 0; set = static_cast<Buttons>(set & (set - 1)))
      visit(static_cast<Button>(std::countr_zero(set)));
  }

  void heard(TelegramKind kind) const {
    fire(model::heard(kind));
    fire(Event::heard_anything);
  }

  void due(const Stimulus& stimulus) const {
    switch (stimulus.timer) {
      case Timer::debounce:
        state.settling &= static_cast<Buttons>(~stimulus.settled);
        return contacts_now(stimulus.contacts);
      case Timer::hold:
        return held_long_enough();
      case Timer::time_out:
        return static_cast<void>(fire(Event::time_out));
      case Timer::beacon:
        return static_cast<void>(fire(Event::beacon));
      case Timer::refuse:
        state.refusing = 0;
        return;
      case Timer::blip:
        state.blipping = 0;
        return;
      case Timer::sleep:
        state.awake = 0;
        return effects.tell(Told::blips_awake, 0);
      case Timer::steady:
      case Timer::breathe:
      case Timer::flash:
      case Timer::store:
      case Timer::ask:
      case Timer::confirm:
      case Timer::count:
        return;  // a plate has none of these
    }
  }
};

}  // namespace

std::optional<Telegram> telegram_of(const Binding& binding, std::uint8_t site, std::uint8_t zone) {
  const auto kind = kind_of(binding.command);
  if (!kind) return std::nullopt;
  return addressed_to(binding.whom, *kind, site, zone, binding.scene);
}

bool speaks_for(const PlateFamily& family, Whom whom) {
  const auto speaks = [whom](const Binding& binding) {
    return binding.command != Command::nothing && binding.whom == whom;
  };
  return std::any_of(family.press.begin(), family.press.end(), speaks) ||
         std::any_of(family.hold.begin(), family.hold.end(), speaks);
}

bool has_keys_for(const PlateFamily& family, const PlateState& state, std::uint8_t site, std::uint8_t zone) {
  if (state.site != site) return false;
  return state.zone == zone || (state.zone + 1 == zone && speaks_for(family, Whom::next_zone));
}

Pattern shown_pattern(const PlateFamily& family, const PlateState& state) {
  const Machine& machine = family.machine;
  const unsigned wanted =
      (state.refusing != 0 ? bit_of(Pattern::refuse) : 0) | (state.blipping != 0 ? bit_of(Pattern::blip) : 0);
  return machine.shown(machine.state_of(state.mode, state.stage), wanted);
}

bool refuses_zone_zero(const PlateFamily& family) {
  const Action refuses{Verb::refuse, static_cast<std::uint8_t>(Refusal::zone_zero)};
  const auto& rows = family.machine.rows;
  return std::any_of(rows.begin(), rows.end(), [&](const MachineRow& row) {
    return std::find(row.does.begin(), row.does.end(), refuses) != row.does.end();
  });
}

void react(const Family& family, const Stimulus& stimulus, PlateState& state, Effects& effects,
           RowsTaken* rows) {
  const PlateReaction reaction{family, state, effects, rows};
  switch (stimulus.kind) {
    case Stimulus::Kind::power_on:
      reaction.power_on();
      break;
    case Stimulus::Kind::contacts:
      reaction.contacts_now(stimulus.contacts);
      break;
    case Stimulus::Kind::telegram:
      reaction.heard(stimulus.telegram.kind);
      break;
    case Stimulus::Kind::timer:
      reaction.due(stimulus);
      break;
  }
  if (const Pattern pattern = shown_pattern(family.plate, state); pattern != state.shown) {
    state.shown = pattern;
    effects.show(pattern);
  }
}

}  // namespace drybus::model
