#include "model/devices/plate.h"

#include <bit>

namespace drybus::model {

namespace {

/// One reaction in progress.
struct Reaction {
  const Family& family;
  PlateState& state;
  Effects& effects;

  [[nodiscard]] const PlateFamily& plate() const { return family.plate; }

  void send(TelegramKind kind, std::uint8_t argument = 0) const {
    effects.send({kind, state.site, state.zone, 0, argument});
  }
  void send_for_channel(TelegramKind kind) const {
    effects.send({kind, state.site, state.zone, state.channel, 0});
  }

  void power_on() const {
    const PlateState before = state;
    state = {};
    state.site = before.site;
    state.zone = before.zone;
    wake();
  }

  void wake() const {
    if (state.awake == 0) effects.tell(Told::blips_awake, 1);
    state.awake = 1;
    effects.start(Timer::sleep, family.indicator.blips_sleep);
  }

  void refuse(Refusal why) const {
    state.refusing = 1;
    effects.start(Timer::refuse, family.indicator.refuse);
    effects.tell(Told::refused, static_cast<std::uint16_t>(why));
  }

  // --- setup ---

  void enter_setup() const {
    state.mode = Mode::setup;
    state.channel = 0;
    state.spent = 1;
    effects.tell(Told::gesture);
    effects.tell(Told::mode, static_cast<std::uint16_t>(Mode::setup),
                 static_cast<std::uint32_t>(ModeReason::gesture));
    effects.start(Timer::time_out, plate().time_out.after);
    beacon();
  }

  void leave_setup(ModeReason why) const {
    state.mode = Mode::normal;
    state.channel = 0;
    state.spent = state.down != 0 ? 1 : 0;
    state.tracked = no_button;
    effects.tell(Told::mode, static_cast<std::uint16_t>(Mode::normal), static_cast<std::uint32_t>(why));
    effects.stop(Timer::time_out);
    effects.stop(Timer::beacon);
    if (plate().announces_leaving) send(TelegramKind::left);
  }

  void beacon() const {
    send(TelegramKind::beacon);
    effects.start(Timer::beacon, plate().beacon);
  }

  void go_to_channel(std::uint8_t channel) const {
    state.channel = channel;
    effects.tell(Told::channel, channel);
    if (channel != 0) send_for_channel(TelegramKind::identify);
  }

  void step_up() const {
    if (state.channel >= plate().channels) return refuse(Refusal::no_such_channel);
    go_to_channel(static_cast<std::uint8_t>(state.channel + 1));
  }

  void step_down() const {
    if (state.channel == 0) return refuse(Refusal::no_such_channel);
    go_to_channel(static_cast<std::uint8_t>(state.channel - 1));
  }

  void identify_again() const {
    if (state.channel == 0) return refuse(Refusal::channel_zero);
    send_for_channel(TelegramKind::identify);
  }

  void assign() const {
    if (state.channel == 0) return refuse(Refusal::channel_zero);
    if (state.zone == 0) return refuse(Refusal::zone_zero);
    send_for_channel(TelegramKind::assign);
  }

  void pressed_in_setup(Button button) const {
    if (button == plate().next) return step_up();
    if (button == plate().previous) return step_down();
    if (button == plate().identify) return identify_again();
    if (button == plate().assign) return assign();
    if (button == plate().leave) return leave_setup(ModeReason::button);
  }

  // --- normal mode ---

  void carry_out(const Binding& binding) const {
    switch (binding.command) {
      case Command::nothing:
        return;
      case Command::on:
        return send(TelegramKind::on);
      case Command::off:
        return send(TelegramKind::off);
      case Command::recall:
        return send(TelegramKind::recall, binding.scene);
      case Command::store:
        return send(TelegramKind::store, binding.scene);
      case Command::raise:
        state.moving = 1;
        return send(TelegramKind::raise);
      case Command::lower:
        state.moving = 1;
        return send(TelegramKind::lower);
    }
  }

  /// A button that can also be held, alone or in the gesture, shows what was meant only when it comes up again.
  [[nodiscard]] bool waits_for_release(Button button) const {
    return plate().hold[button].command != Command::nothing || (plate().setup_gesture & only(button)) != 0;
  }

  void pressed_in_normal_mode(Button button) const {
    if (state.down != only(button)) state.spent = 1;  // a chord: never anybody's single press
    if (!waits_for_release(button)) {
      if (state.spent == 0) carry_out(plate().press[button]);
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
    if (state.down == plate().setup_gesture) return enter_setup();
    if (state.spent == 0 && state.tracked != no_button) {
      state.spent = 1;
      carry_out(plate().hold[state.tracked]);
    }
  }

  void released(Button button) const {
    if (state.moving != 0) {
      state.moving = 0;
      send(TelegramKind::stop);
    } else if (state.mode == Mode::normal && state.spent == 0 && button == state.tracked) {
      carry_out(plate().press[button]);
    }
  }

  // --- contacts ---

  void contacts_now(Buttons contacts) const {
    if (state.settling != 0 || contacts == state.down) return;
    const Buttons before = state.down;
    state.down = contacts;
    state.settling = 1;
    effects.start(Timer::debounce, family.debounce);
    const Buttons fresh = contacts & static_cast<Buttons>(~before);
    const Buttons gone = before & static_cast<Buttons>(~contacts);
    const bool was_setup = state.mode == Mode::setup;
    for_each(gone, [&](Button button) { released(button); });
    if (fresh != 0) wake();
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

  void heard() const {
    if (state.awake == 0) return effects.tell(Told::blip_unshown);
    state.blipping = 1;
    effects.start(Timer::blip, family.indicator.blip);
  }

  void due(Timer timer, Buttons contacts) const {
    switch (timer) {
      case Timer::debounce:
        state.settling = 0;
        return contacts_now(contacts);
      case Timer::hold:
        return held_long_enough();
      case Timer::time_out:
        return leave_setup(ModeReason::time_out);
      case Timer::beacon:
        return beacon();
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
      case Timer::wink:
      case Timer::store:
        return;  // a plate has none of these
    }
  }
};

}  // namespace

Pattern shown_pattern(const PlateState& state) {
  if (state.refusing != 0) return Pattern::refuse;
  if (state.mode == Mode::setup) return Pattern::blink;
  if (state.blipping != 0) return Pattern::blip;
  return Pattern::dark;
}

void react(const Family& family, const Stimulus& stimulus, PlateState& state, Effects& effects) {
  const Reaction reaction{family, state, effects};
  switch (stimulus.kind) {
    case Stimulus::Kind::power_on:
      reaction.power_on();
      break;
    case Stimulus::Kind::contacts:
      reaction.contacts_now(stimulus.contacts);
      break;
    case Stimulus::Kind::telegram:
      reaction.heard();
      break;
    case Stimulus::Kind::timer:
      reaction.due(stimulus.timer, stimulus.contacts);
      break;
  }
  if (const Pattern pattern = shown_pattern(state); pattern != state.shown) {
    state.shown = pattern;
    effects.show(pattern);
  }
}

}  // namespace drybus::model
