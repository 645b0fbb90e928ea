// One plate or one module on a bench: no site, no bus, no simulation. The bench carries out the effects of a
// reaction by itself (timers, load, lamp), so that a device's logic is tried the way its firmware's developer
// would try it.
#pragma once

#include <algorithm>
#include <array>
#include <optional>
#include <type_traits>
#include <utility>
#include <vector>

#include "model/devices/module.h"
#include "model/devices/plate.h"
#include "model/world/world.h"

namespace drybus::tests {

/// `State` is model::PlateState or model::ModuleState.
template <class State>
class DeviceBench {
 public:
  struct Said {
    model::Told told{};
    std::uint16_t a = 0;
    std::uint32_t b = 0;
    friend bool operator==(const Said&, const Said&) = default;
  };

  explicit DeviceBench(model::Family of_family) : family(std::move(of_family)) {}

  /// Lets the device react, and carries out its effects.
  void apply(model::Stimulus stimulus) {
    stimulus.contacts = contacts;
    stimulus.level = load.beneath(now);
    model::Effects effects;
    react(family, stimulus, state, effects);
    for (const model::Effect& effect : effects) carry_out(effect);
  }

  void power_on() { apply({}); }

  void contact(model::Button button, bool closed) {
    contacts = static_cast<model::Buttons>(closed ? contacts | model::only(button)
                                                  : contacts & ~model::only(button));
    model::Stimulus stimulus;
    stimulus.kind = model::Stimulus::Kind::contacts;
    apply(stimulus);
  }
  void down(model::Button button) { contact(button, true); }
  void up(model::Button button) { contact(button, false); }

  /// Holds a button down for a time; the debounce time after it is left to pass, too.
  void press(model::Button button, sim::Duration duration = std::chrono::milliseconds{200}) {
    down(button);
    pass(duration);
    up(button);
    pass(family.debounce);
  }

  void hear(const model::Telegram& telegram) {
    model::Stimulus stimulus;
    stimulus.kind = model::Stimulus::Kind::telegram;
    stimulus.telegram = telegram;
    apply(stimulus);
  }

  /// Lets time pass; timers that come due on the way, up to its very end, go off in the order of their times.
  void pass(sim::Duration duration) {
    const sim::Instant until = now + duration;
    for (;;) {
      const auto next = std::min_element(due.begin(), due.end());
      if (const sim::Instant rests = settles.empty() ? sim::never : settles.front().at;
          rests <= std::min(until, *next)) {
        now = rests;
        settle_first();
        continue;
      }
      if (*next > until) break;
      now = *next;
      model::Stimulus stimulus;
      stimulus.kind = model::Stimulus::Kind::timer;
      stimulus.timer = static_cast<model::Timer>(next - due.begin());
      *next = sim::never;
      apply(stimulus);
    }
    now = until;
  }

  /// As the simulation does: everything but memory and switches is gone.
  void cut_power() {
    due.fill(sim::never);
    settles.clear();
    const model::Level left = load.beneath(now);
    load = {};
    lamp = model::Pattern::dark;
    State cleared;
    if constexpr (std::is_same_v<State, model::ModuleState>) {
      cleared = model::after_power_cut(family.module, state, left);
    } else {
      cleared.site = state.site;
      cleared.zone = state.zone;
    }
    state = cleared;
  }

  [[nodiscard]] bool running(model::Timer timer) const {
    return due[static_cast<std::size_t>(timer)] != sim::never;
  }
  [[nodiscard]] sim::Duration left(model::Timer timer) const {
    return due[static_cast<std::size_t>(timer)] - now;
  }
  [[nodiscard]] model::Level level() const { return load.at(now); }
  [[nodiscard]] bool in_setup() const { return state.mode == model::Mode::setup; }

  /// What was sent since it was last asked.
  std::vector<model::Telegram> take_sent() { return std::exchange(sent, {}); }
  /// What was told since it was last asked.
  std::vector<Said> take_told() { return std::exchange(said, {}); }
  [[nodiscard]] std::size_t times_told(model::Told told) const {
    return static_cast<std::size_t>(
        std::count_if(said.begin(), said.end(), [told](const Said& s) { return s.told == told; }));
  }
  [[nodiscard]] std::optional<Said> last_told(model::Told told) const {
    const auto found =
        std::find_if(said.rbegin(), said.rend(), [told](const Said& s) { return s.told == told; });
    return found == said.rend() ? std::nullopt : std::optional{*found};
  }

  model::Family family;
  State state;
  sim::Instant now = sim::start_of_run;
  model::Buttons contacts = 0;
  model::LoadState load;
  model::Pattern lamp = model::Pattern::dark;
  std::vector<model::Telegram> sent;
  std::vector<Said> said;
  std::array<sim::Instant, model::timer_count> due = [] {
    std::array<sim::Instant, model::timer_count> none{};
    none.fill(sim::never);
    return none;
  }();
  struct Settles {
    sim::Instant at;
    model::Buttons buttons;
  };
  std::vector<Settles> settles;  ///< of a plate's buttons, the next first

 private:
  void settle_first() {
    model::Stimulus stimulus;
    stimulus.kind = model::Stimulus::Kind::timer;
    stimulus.timer = model::Timer::debounce;
    stimulus.settled = settles.front().buttons;
    settles.erase(settles.begin());
    apply(stimulus);
  }

  void carry_out(const model::Effect& effect) {
    switch (effect.kind) {
      case model::Effect::Kind::start_timer:
        due[effect.which] = now + effect.duration;
        return;
      case model::Effect::Kind::stop_timer:
        due[effect.which] = sim::never;
        return;
      case model::Effect::Kind::send:
        sent.push_back(effect.telegram);
        return;
      case model::Effect::Kind::show:
        lamp = static_cast<model::Pattern>(effect.which);
        return;
      case model::Effect::Kind::fade:
        load = {now, effect.duration, load.beneath(now), effect.value};
        return;
      case model::Effect::Kind::settle:
        settles.push_back({now + effect.duration, effect.value});  // all take the same time
        return;
      case model::Effect::Kind::flash:
        load.flash = static_cast<model::Level>(effect.value + 1);
        return;
      case model::Effect::Kind::flash_over:
        load.flash = 0;
        return;
      case model::Effect::Kind::tell:
        said.push_back({static_cast<model::Told>(effect.which), effect.value, effect.detail});
        return;
    }
  }
};

using PlateBench = DeviceBench<model::PlateState>;
using ModuleBench = DeviceBench<model::ModuleState>;

}  // namespace drybus::tests
