// Random walks over stimuli: whatever comes, a reaction is pure, has no more effects than it may, and leaves
// the state in order. Each walk also counts what it met, for a walk that never enters setup would prove
// nothing.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <string>

#include "model/devices/module.h"
#include "model/devices/plate.h"
#include "model/family/usual_machine.h"
#include "sim/random.h"
#include "tests/support/printing.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

constexpr int steps = 100'000;

Pattern shown_in(const Family& family, const PlateState& state) {
  return shown_pattern(family.plate, state);
}
Pattern shown_in(const Family& family, const ModuleState& state) {
  return shown_pattern(family.module, state);
}

bool same_effect(const Effect& a, const Effect& b) {
  return a.kind == b.kind && a.which == b.which && a.value == b.value && a.detail == b.detail &&
         a.duration == b.duration && a.telegram == b.telegram;
}

/// What is so of every state that reactions lead to. Timers that a flag stands for run exactly while it is
/// set.
std::string out_of_order(const Family& family, const PlateState& state,
                         const std::array<bool, timer_count>& runs) {
  const auto running = [&](Timer timer) { return runs[static_cast<std::size_t>(timer)]; };
  if ((state.mode == Mode::setup) != running(Timer::time_out)) return "the time-out runs in setup only";
  if ((state.mode == Mode::setup) != running(Timer::beacon)) return "beacons go out in setup only";
  if (state.mode == Mode::normal && state.channel != 0) return "there is no channel in normal mode";
  if (state.channel > family.plate.channels) return "there is no such channel";
  if ((state.refusing != 0) != running(Timer::refuse)) return "a refusal ends by its timer";
  if ((state.blipping != 0) != running(Timer::blip)) return "a blip ends by its timer";
  if ((state.awake != 0) != running(Timer::sleep)) return "blips that are awake fall asleep some time";
  if (running(Timer::debounce)) return "a plate's buttons settle each for itself";
  if (state.down == 0 && state.settling == 0 && state.moving != 0) return "stop is owed to nobody";
  if (state.down == 0 && running(Timer::hold)) return "a hold is timed though no button is down";
  if (state.shown != shown_in(family, state)) return "the indicator shows something else";
  for (const Timer none : {Timer::steady, Timer::breathe, Timer::flash, Timer::store}) {
    if (running(none)) return "a plate has no such timer";
  }
  return {};
}

std::string out_of_order(const Family& family, const ModuleState& state,
                         const std::array<bool, timer_count>& runs) {
  const auto running = [&](Timer timer) { return runs[static_cast<std::size_t>(timer)]; };
  if ((state.mode == Mode::setup) != running(Timer::time_out)) return "the time-out runs in setup only";
  if ((state.storing != 0) != running(Timer::store)) return "a write ends by its timer";
  if (state.storing == 0 && state.writing != ModuleMemory{})
    return "a write that is over left something behind";
  if ((state.flashing != 0) != running(Timer::flash)) return "a flash ends by its timer";
  if ((state.steady != 0) != running(Timer::steady)) return "steady ends by its timer";
  if ((state.breathing != 0) != running(Timer::breathe)) return "breathing ends by its timer";
  if ((state.blipping != 0) != running(Timer::blip)) return "a blip ends by its timer";
  if ((state.awake != 0) != running(Timer::sleep)) return "blips that are awake fall asleep some time";
  if ((state.settling != 0) != running(Timer::debounce)) return "contacts settle within the debounce time";
  if (running(Timer::hold) && (state.down == 0 || state.mode == Mode::setup)) return "nothing is held";
  if (state.target > full_level || state.memory.last_level > full_level) return "a level is beyond full";
  if (state.memory.addressed() && state.memory.address.zone == 0) return "zone 0 was stored";
  if (state.shown != shown_in(family, state)) return "the indicator shows something else";
  return {};
}

template <class State>
class Walk {
 public:
  Walk(Family family, std::uint64_t seed)
      : family_(std::move(family)), random_{seed, sim::Purpose::generator, 0, 0} {
    if constexpr (std::is_same_v<State, ModuleState>) {
      state_.memory = factory_memory(family_.module);
    } else {
      turn_switches();
    }
    react_twice({});
  }

  /// What was wrong first; empty when nothing was.
  std::string run() {
    for (int i = 0; i < steps && wrong_.empty(); ++i) {
      turn_switches();
      react_twice(any_stimulus());
    }
    return wrong_;
  }

  std::size_t most_effects = 0;
  std::array<int, 16> told{};

 private:
  std::uint64_t below(std::uint64_t n) { return random_.below(n); }
  std::uint8_t small(std::uint64_t n) { return static_cast<std::uint8_t>(below(n)); }

  void turn_switches() {
    if constexpr (std::is_same_v<State, PlateState>) {
      if (below(500) != 0) return;
      state_.site = small(3);
      state_.zone = small(3);
    }
  }

  Stimulus any_stimulus() {
    Stimulus stimulus;
    stimulus.contacts = contacts_;
    stimulus.level = static_cast<Level>(below(full_level + 1u));
    const std::uint64_t choice = below(100);
    if (choice < 40) return any_timer(stimulus);
    if (choice < 70) {
      stimulus.kind = Stimulus::Kind::contacts;
      contacts_ = any_contacts();
      stimulus.contacts = contacts_;
      return stimulus;
    }
    if (choice == 99 && below(8) == 0) return stimulus;  // power comes on
    stimulus.kind = Stimulus::Kind::telegram;
    stimulus.telegram = {static_cast<TelegramKind>(1 + below(last_telegram_kind)), small(3), small(3),
                         small(3), small(10)};
    return stimulus;
  }

  /// One button more or less, all up, the gesture, or anything.
  Buttons any_contacts() {
    switch (below(5)) {
      case 0:
        return 0;
      case 1:
        return family_.plate.setup_gesture;
      case 2:
        return static_cast<Buttons>(below(0x10000));
      default:
        return static_cast<Buttons>(contacts_ ^
                                    only(static_cast<Button>(below(family_.plate.buttons.size()))));
    }
  }

  /// One of those that run; which of them is due first is nobody's promise here.
  Stimulus any_timer(Stimulus stimulus) {
    stimulus.kind = Stimulus::Kind::contacts;
    std::vector<Timer> running;
    for (std::size_t i = 0; i < timer_count; ++i) {
      if (runs_[i]) running.push_back(static_cast<Timer>(i));
    }
    if (settles_ != 0 && below(3) != 0) return some_settle(stimulus);
    if (running.empty()) return stimulus;
    stimulus.kind = Stimulus::Kind::timer;
    stimulus.timer = running[below(running.size())];
    runs_[static_cast<std::size_t>(stimulus.timer)] = false;
    return stimulus;
  }

  Stimulus some_settle(Stimulus stimulus) {
    stimulus.kind = Stimulus::Kind::timer;
    stimulus.timer = Timer::debounce;
    stimulus.settled = below(2) == 0 ? settles_ : static_cast<Buttons>(settles_ & below(0x10000));
    settles_ &= static_cast<Buttons>(~stimulus.settled);
    return stimulus;
  }

  void react_twice(const Stimulus& stimulus) {
    if (stimulus.kind == Stimulus::Kind::power_on) lose_power();
    State once = state_;
    State again = state_;
    Effects effects;
    Effects effects_again;
    react(family_, stimulus, once, effects);  // asserts its capacity
    react(family_, stimulus, again, effects_again);
    if (once != again || !std::equal(effects.begin(), effects.end(), effects_again.begin(),
                                     effects_again.end(), same_effect)) {
      wrong_ = "the same state and stimulus gave two results";
    }
    most_effects = std::max(most_effects, effects.size());
    state_ = once;
    for (const Effect& effect : effects) take(effect);
    if (wrong_.empty()) wrong_ = out_of_order(family_, state_, runs_);
    if constexpr (std::is_same_v<State, PlateState>) {
      if (state_.settling != settles_) wrong_ = "contacts settle within the debounce time";
    }
  }

  void lose_power() {
    runs_ = {};
    settles_ = 0;
    if constexpr (std::is_same_v<State, ModuleState>) {
      if (below(2) == 0) state_.memory = factory_memory(family_.module);  // another module hangs there now
    }
  }

  void take(const Effect& effect) {
    switch (effect.kind) {
      case Effect::Kind::start_timer:
        runs_[effect.which] = true;
        if (effect.duration <= 0ns) wrong_ = "a timer of no duration";
        return;
      case Effect::Kind::stop_timer:
        runs_[effect.which] = false;
        return;
      case Effect::Kind::send:
        if (decode(encode(effect.telegram)) != effect.telegram) wrong_ = "a telegram that cannot be sent";
        if (effect.telegram.kind == TelegramKind::assign &&
            (effect.telegram.channel == 0 || effect.telegram.zone == 0)) {
          wrong_ = "channel 0 or zone 0 was offered";
        }
        return;
      case Effect::Kind::show:
        return;
      case Effect::Kind::fade:
        if (effect.value > full_level || effect.duration < 0ns) wrong_ = "a fade to nowhere";
        return;
      case Effect::Kind::settle:
        if ((settles_ & effect.value) != 0) wrong_ = "a contact that settles was read";
        settles_ |= effect.value;
        if (effect.duration <= 0ns) wrong_ = "contacts that need not settle";
        return;
      case Effect::Kind::flash:
        if (effect.value > full_level) wrong_ = "a flash beyond full";
        return;
      case Effect::Kind::flash_over:
        return;
      case Effect::Kind::tell:
        ++told[effect.which];
        return;
    }
  }

  Family family_;
  sim::Stream random_;
  State state_;
  Buttons contacts_ = 0;
  Buttons settles_ = 0;
  std::array<bool, timer_count> runs_{};
  std::string wrong_;
};

std::vector<Family> families() {
  Family plain = test_family();
  plain.module.factory_site = 1;  // among the numbers that are drawn
  Family crowded = plain;
  crowded.plate.buttons.resize(max_buttons, "more");
  crowded.plate.setup_gesture = static_cast<Buttons>(only(up) | only(down));
  crowded.plate.leave = max_buttons - 1;
  crowded.plate.machine = usual_plate_machine(true);
  crowded.plate.time_out.from = CountedFrom::entry;
  crowded.module.time_out.from = CountedFrom::last_press;
  Family pressing = crowded;
  pressing.plate.time_out.from = CountedFrom::last_press;
  return {plain, crowded, pressing};
}

constexpr const char* plate_walk = "a plate stays in order on a random walk, and its reactions are pure";
constexpr const char* module_walk = "a module stays in order on a random walk, and its reactions are pure";

}  // namespace

TEST_SUITE("reactions") {
  TEST_CASE(plate_walk) {
    for (const Family& family : families()) {
      for (const std::uint64_t seed : drybus::test::seeds(2)) {
        INFO(drybus::test::replay(seed, plate_walk));
        Walk<PlateState> walk{family, seed};
        CHECK(walk.run() == "");
        CHECK(walk.most_effects <= Effects::capacity);
        for (const Told told : {Told::mode, Told::channel, Told::gesture, Told::refused, Told::blips_awake,
                                Told::blip_unshown}) {
          CAPTURE(static_cast<int>(told));
          CHECK(walk.told[static_cast<std::size_t>(told)] > 50);
        }
      }
    }
  }

  TEST_CASE(module_walk) {
    for (const Family& family : families()) {
      for (const std::uint64_t seed : drybus::test::seeds(2)) {
        INFO(drybus::test::replay(seed, module_walk));
        Walk<ModuleState> walk{family, seed};
        CHECK(walk.run() == "");
        CHECK(walk.most_effects <= Effects::capacity);
        for (const Told told :
             {Told::mode, Told::gesture, Told::assign_ignored, Told::store_begun, Told::stored,
              Told::power_up, Told::blips_awake, Told::blip_unshown, Told::obeyed}) {
          CAPTURE(static_cast<int>(told));
          CHECK(walk.told[static_cast<std::size_t>(told)] > 20);
        }
      }
    }
  }
}
