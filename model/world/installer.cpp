#include "model/world/installer.h"

#include <algorithm>
#include <bit>

#include "model/people/setup_steps.h"
#include "model/world/partners.h"

namespace drybus::model {

namespace {

/// Where a person is within a step.
enum class Phase : std::uint16_t { ready, waited, walking, arrived, holding, pausing };

/// One person at one moment.
class Turn {
 public:
  Turn(Simulation& simulation, std::uint32_t person, sim::EntryId cause)
      : simulation_(simulation), person_(person), cause_(cause) {}

  /// Works on until something takes time.
  void take() {
    while (state().done == 0) {
      if (state().step >= script().size()) {
        state().done = 1;
        return;
      }
      if (!advance()) return;
    }
  }

 private:
  [[nodiscard]] PersonState& state() { return simulation_.world().people[person_]; }
  [[nodiscard]] const std::vector<Step>& script() const {
    return simulation_.scenario().people[person_].script;
  }
  [[nodiscard]] const Step& step() { return script()[state().step]; }
  [[nodiscard]] const HumanTimes& times() const { return simulation_.scenario().times; }
  [[nodiscard]] Phase phase() { return static_cast<Phase>(state().phase); }
  void enter(Phase phase) { state().phase = static_cast<std::uint16_t>(phase); }

  void pass_time(sim::Duration duration, Phase then, sim::EntryId cause) {
    enter(then);
    simulation_.schedule(duration, Happening::person, person_, 0, cause);
  }

  bool next_step() {
    ++state().step;
    enter(Phase::ready);
    return true;
  }

  /// One phase of the current step; false when time has to pass first.
  bool advance() {
    switch (phase()) {
      case Phase::ready:
        return wait_for_the_hour();
      case Phase::waited:
        return walk_there();
      case Phase::walking:
        return arrive();
      case Phase::arrived:
        return act();
      case Phase::holding:
        return let_go();
      case Phase::pausing:
        return next_step();
    }
    return false;
  }

  bool wait_for_the_hour() {
    const sim::Instant now = simulation_.world().now;
    if (step().at && *step().at > now) {
      pass_time(*step().at - now, Phase::waited, cause_);
      return false;
    }
    enter(Phase::waited);
    return true;
  }

  [[nodiscard]] PlaceId destination() {
    const Step& current = step();
    switch (current.kind) {
      case StepKind::walk:
        return current.place;
      case StepKind::press:
      case StepKind::hold:
      case StepKind::switches:
        return simulation_.site().place(current.device);
      case StepKind::power:
      case StepKind::wait:
      case StepKind::fault:
      case StepKind::see:
      case StepKind::expect:
      case StepKind::note:
        return state().place;
    }
    return state().place;
  }

  bool walk_there() {
    begun_ = simulation_.note(What::step, person_, state().step, 0, cause_);
    cause_ = simulation_.record() != nullptr ? begun_ : cause_;
    const PlaceId there = destination();
    if (there == state().place) {
      enter(Phase::arrived);
      return true;
    }
    const sim::EntryId walked = simulation_.note(What::walked, person_, state().place, there, cause_);
    const sim::Duration duration = simulation_.site().walk(state().place, there);
    state().place = no_place;  // on the way, and in sight of nothing
    pass_time(duration, Phase::walking, walked);
    return false;
  }

  bool arrive() {
    state().place = destination();
    const sim::EntryId arrived = simulation_.note(What::arrived, person_, state().place, 0, cause_);
    cause_ = simulation_.record() != nullptr ? arrived : cause_;
    enter(Phase::arrived);
    return true;
  }

  bool act() {
    const Step& current = step();
    switch (current.kind) {
      case StepKind::press:
      case StepKind::hold:
        return push();
      case StepKind::wait:
        return wait_a_while();
      case StepKind::walk:
        return next_step();
      case StepKind::switches:
        return set_switches();
      case StepKind::power:
        return set_power();
      case StepKind::fault:
        break_something();
        return next_step();
      case StepKind::see:
      case StepKind::expect:
        check();
        return next_step();
      case StepKind::note:
        return next_step();
    }
    return false;
  }

  bool wait_a_while() {
    pass_time(step().duration, Phase::pausing, cause_);
    return false;
  }

  bool pause(sim::EntryId cause) {
    pass_time(times().pause, Phase::pausing, cause);
    return false;
  }

  // --- presses ---

  bool push() {
    const Step& current = step();
    if (person_ == 0) notice_what_is_amiss();
    const bool leaves = is_left_by_a_hold();
    contacts(true);
    bounce();
    if (person_ == 0) believe(leaves);
    pass_time(current.duration, Phase::holding, cause_);
    return false;
  }

  bool let_go() {
    contacts(false);
    return pause(cause_);
  }

  void contacts(bool closed) {
    for (Buttons set = step().buttons; set != 0; set = static_cast<Buttons>(set & (set - 1))) {
      simulation_.set_contact(step().device, static_cast<Button>(std::countr_zero(set)), closed, cause_);
    }
  }

  /// The contact opens and closes every other millisecond until it rests closed; it is over when the button is let go.
  void bounce() {
    constexpr sim::Duration half = std::chrono::milliseconds{1};
    const sim::Duration longest = std::min(step().bounce, step().duration);
    const auto button = static_cast<std::uint16_t>(std::countr_zero(step().buttons));
    for (sim::Duration after = half; after + half <= longest; after += 2 * half) {
      simulation_.schedule(after, Happening::contact, step().device, button, cause_);
      simulation_.schedule(after + half, Happening::contact, step().device,
                           static_cast<std::uint16_t>(button | 0x100), cause_);
    }
  }

  // --- what the installer takes for granted ---

  [[nodiscard]] bool has_meaning_in_setup(Buttons buttons) {
    const PlateFamily& plate = simulation_.site().plate_family(step().device);
    for (const Button button : {plate.next, plate.previous, plate.identify, plate.assign, plate.leave}) {
      if (button != no_button && buttons == only(button)) return true;
    }
    return false;
  }

  /// Held to enter setup.
  [[nodiscard]] bool is_gesture() {
    const Site& site = simulation_.site();
    return step().kind == StepKind::hold &&
           (!site.is_plate(step().device) || step().buttons == site.setup_gesture(step().device));
  }

  /// A plate whose setup ended by itself with nothing left to do: nobody takes it for in setup.
  [[nodiscard]] bool was_left_when_done(DeviceId device) {
    const World& world = simulation_.world();
    const DeviceState& state = world.devices[device];
    return simulation_.site().is_plate(device) && state.mode == Mode::normal &&
           (state.setup_ended_by == ModeReason::time_out || state.setup_ended_by == ModeReason::power) &&
           has_done_its_work(simulation_.site(), world, device);
  }

  /// A module that asks for its address shows that it was answered.
  [[nodiscard]] bool was_answered(DeviceId device) {
    const DeviceState& state = simulation_.world().devices[device];
    return !simulation_.site().is_plate(device) && asks(simulation_.site(), device) &&
           state.mode == Mode::normal && state.setup_ended_by == ModeReason::assigned;
  }

  void notice_what_is_amiss() {
    const DeviceId device = step().device;
    notice_misread();
    const DeviceState& actual = simulation_.world().devices[device];
    if (!simulation_.site().is_plate(device) || actual.powered == 0 || actual.believed_in_setup == 0) return;
    if (actual.mode == Mode::setup &&
        step().buttons == only(simulation_.site().plate_family(device).assign)) {
      offered(simulation_.world(), device);
      offered_in_vain(simulation_.site(), simulation_.world(), device);
    }
    if (actual.mode == Mode::normal && !is_gesture() && has_meaning_in_setup(step().buttons))
      pressed_in_vain(simulation_.site(), simulation_.world(), device);
  }

  /// Held as for setup by somebody who knows that the device is in it: its button takes it out again.
  [[nodiscard]] bool is_left_by_a_hold() {
    const Site& site = simulation_.site();
    const DeviceState& device = simulation_.world().devices[step().device];
    const bool button_leaves =
        !site.is_plate(step().device) ||
        site.setup_gesture(step().device) == only(site.plate_family(step().device).leave);
    return is_gesture() && button_leaves && device.mode == Mode::setup && device.believed_in_setup != 0;
  }

  /// A press that is meant for one mode and meets the other.
  void notice_misread() {
    const DeviceId device = step().device;
    const DeviceState& actual = simulation_.world().devices[device];
    const bool meant_for_setup = actual.believed_in_setup != 0 && !is_gesture() &&
                                 !was_left_when_done(device) && !was_answered(device);
    if (actual.powered == 0 || meant_for_setup == (actual.mode == Mode::setup) || is_left_by_a_hold()) return;
    if (meant_for_setup && simulation_.site().is_plate(device) && !has_meaning_in_setup(step().buttons))
      return;
    simulation_.note(What::misread, device, step().buttons, meant_for_setup ? 1 : 0, cause_,
                     simulation_.mode_entry(device));
  }

  void believe(bool left_by_a_hold) {
    const Site& site = simulation_.site();
    const DeviceId device = step().device;
    DeviceState& of = simulation_.world().devices[device];
    const PlateFamily& plate = site.family_of(device).plate;
    if (is_gesture()) {
      of.believed_in_setup = left_by_a_hold ? 0 : 1;
    } else if (!site.is_plate(device) || step().buttons == only(plate.leave)) {
      of.believed_in_setup = 0;
    } else if (of.believed_in_setup != 0 && step().buttons == only(plate.assign)) {
      for (std::size_t i = 0; i < site.modules.size(); ++i) {
        // Where an offer has to be confirmed at the module, nobody takes it for done yet.
        if (site.module_family(site.module_id(i)).confirm > sim::Duration::zero()) continue;
        simulation_.world().devices[site.module_id(i)].believed_in_setup = 0;
      }
    }
  }

  // --- the rest ---

  bool set_switches() {
    const PlateState& plate = simulation_.world().plates[step().device];
    simulation_.set_switches(step().device, step().site.value_or(plate.site),
                             step().zone.value_or(plate.zone), cause_);
    return pause(cause_);
  }

  bool set_power() {
    if (step().device != no_device) {
      simulation_.set_power(step().device, step().on, cause_);
    } else {
      for (std::size_t i = 0; i < simulation_.site().device_count(); ++i) {
        if (!simulation_.site().is_neighbour(static_cast<DeviceId>(i))) {
          simulation_.set_power(static_cast<DeviceId>(i), step().on, cause_);
        }
      }
    }
    return pause(cause_);
  }

  void break_something() {
    const Fault& fault = step().fault;
    switch (fault.kind) {
      case FaultKind::open:
        return simulation_.set_link(fault.link, sim::LinkState::open, 0, cause_);
      case FaultKind::shorted:
        return simulation_.set_link(fault.link, sim::LinkState::shorted, 0, cause_);
      case FaultKind::noisy:
        return simulation_.set_link(fault.link, sim::LinkState::noisy, fault.bit_error_ppb, cause_);
      case FaultKind::mend:
        return simulation_.set_link(fault.link, sim::LinkState::sound, 0, cause_);
      case FaultKind::stuck:
        return simulation_.set_stuck(fault.device, fault.button, true, cause_);
      case FaultKind::freed:
        return simulation_.set_stuck(fault.device, fault.button, false, cause_);
      case FaultKind::deaf:
        return simulation_.deafen(fault.device, fault.count, cause_);
      case FaultKind::dead_load:
        return simulation_.set_load_dead(fault.device, true, cause_);
      case FaultKind::new_load:
        return simulation_.set_load_dead(fault.device, false, cause_);
    }
  }

  void check() {
    for (const std::uint32_t index : step().checks) {
      const bool passed = simulation_.run_check(index, cause_);
      simulation_.note(What::checked, person_, index, passed ? 1 : 0, cause_);
      const Check& check = simulation_.scenario().checks[index];
      if (check.seen && person_ == 0 && check.fact == Fact::indicator) learn_from(check.device);
    }
  }

  /// Who looks at an indicator knows whether the device is in setup; a refusal or an identification hides it.
  void learn_from(DeviceId device) {
    if (!in_sight(simulation_.site(), state().place, device)) return;
    DeviceState& of = simulation_.world().devices[device];
    switch (of.indicator) {
      case Pattern::blink:
        of.believed_in_setup = 1;
        return;
      case Pattern::dark:
      case Pattern::blip:
      case Pattern::breathe:
        of.believed_in_setup = 0;
        return;
      case Pattern::steady:
      case Pattern::refuse:
        return;
    }
  }

  Simulation& simulation_;
  std::uint32_t person_;
  sim::EntryId cause_;
  sim::EntryId begun_ = sim::no_entry;
};

}  // namespace

void go_on(Simulation& simulation, std::uint32_t person, sim::EntryId cause) {
  Turn{simulation, person, cause}.take();
}

std::size_t steps_begun(const PersonState& person) {
  const bool in_hand = static_cast<Phase>(person.phase) > Phase::waited;
  return person.step + (in_hand ? 1u : 0u);
}

bool is_holding(const PersonState& person) {
  return static_cast<Phase>(person.phase) == Phase::holding;
}

bool in_sight(const Site& site, PlaceId from, DeviceId device) {
  return site.place(device) == from;
}

}  // namespace drybus::model
