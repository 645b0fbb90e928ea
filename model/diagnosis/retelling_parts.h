// What a retelling is made of: who reacts in it, which steps a change reaches, and when two runs have become one again.
#pragma once

#include <algorithm>
#include <optional>
#include <utility>
#include <vector>

#include "model/diagnosis/retelling.h"
#include "model/world/facts.h"

namespace drybus::model {

/// Leaves out what only people read: it is copied with every hypothesis.
inline void forget_words(Scenario& scenario) {
  scenario.title.clear();
  scenario.about.clear();
  scenario.files.clear();
  for (PlateSpec& plate : scenario.site.plates) plate.label.clear();
  for (ModuleSpec& module : scenario.site.modules) module.label.clear();
  for (Person& person : scenario.people) {
    for (Step& step : person.script) step.text.clear();
  }
}

/// A lamp that says nothing but whether a plate is in setup.
inline bool at_rest(Pattern pattern) {
  switch (pattern) {
    case Pattern::dark:
    case Pattern::blip:
    case Pattern::breathe:
      return true;
    case Pattern::blink:
    case Pattern::steady:
    case Pattern::refuse:
      return false;
  }
  return false;
}
inline bool at_rest(std::string_view shown) {
  constexpr auto all = sim::all_of<Pattern>();
  return std::any_of(all.begin(), all.end(),
                     [&](Pattern pattern) { return to_string(pattern) == shown && at_rest(pattern); });
}

/// Modules that ask are heard by the plate that answers: whoever follows anybody follows them as well.
inline bool asks_for_itself(const Site& site, DeviceId module) {
  return !site.is_plate(module) && site.module_family(module).ask > sim::Duration::zero();
}
inline Followed with_all_that_ask(const Site& site, Followed followed) {
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    if (asks_for_itself(site, site.module_id(i))) followed.add(i);
  }
  return followed;
}

/// Lets only some modules react, and notes what plates send.
class PartlyFollowed final : public DeviceLogic {
 public:
  PartlyFollowed(const Followed& followed, std::vector<Telegram>* sent) : followed_(followed), sent_(sent) {}

  void plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) override {
    react(turn.family(), stimulus, state, effects);
    if (sent_ == nullptr) return;
    for (const Effect& effect : effects) {
      const bool sends = effect.kind == Effect::Kind::send && effect.telegram.kind != TelegramKind::beacon;
      if (sends) sent_->push_back(effect.telegram);
    }
  }

  void module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
              Effects& effects) override {
    if (followed_.has(turn.site.module_index(turn.device))) react(turn.family(), stimulus, state, effects);
  }

 private:
  const Followed& followed_;
  std::vector<Telegram>* sent_;
};

/// The steps at which a change first and last does something; nothing: it is there from the start.
struct Stretch {
  std::uint32_t first = 0;
  std::uint32_t last = 0;
};

struct StretchOf {
  using Answer = std::optional<Stretch>;
  Answer operator()(const change::Skip& each) const { return at(each.step); }
  Answer operator()(const change::Leave& each) const { return at(each.step); }
  Answer operator()(const change::Last& each) const { return at(each.step); }
  Answer operator()(const change::Insert& each) const { return at(each.before); }
  Answer operator()(const change::Meanwhile& each) const {
    return Stretch{when(each.steps.front()), when(each.steps.back()) + 1};
  }
  Answer operator()(const change::Walk&) const { return {}; }
  Answer operator()(const change::Memory&) const { return {}; }
  Answer operator()(const change::Generation&) const { return {}; }
  Answer operator()(const change::Switches&) const { return {}; }
  Answer operator()(const change::NoExpiry&) const { return {}; }
  Answer operator()(const change::Arrive&) const { return {}; }
  Answer operator()(const change::InSetup&) const { return {}; }

  static Answer at(const StepRef& ref) {
    return ref.person == 0 ? Answer{Stretch{ref.step, ref.step}} : std::nullopt;
  }
  [[nodiscard]] std::uint32_t when(const Step& step) const {
    return step_at(scenario, 0, step.at.value_or(sim::start_of_run)).step;
  }

  const Scenario& scenario;
};

/// From the first to the last step of all changes; `first` is nothing when one of them is there from the
/// start.
struct Reach {
  std::optional<std::uint32_t> first;
  std::uint32_t last = 0;

  Reach(const Scenario& scenario, std::span<const Change> changes) {
    bool from_start = changes.empty();
    for (const Change& change : changes) {
      const auto stretch = std::visit(StretchOf{scenario}, change);
      if (stretch) {
        first = std::min(first.value_or(stretch->first), stretch->first);
        last = std::max(last, stretch->last);
      } else {
        from_start = true;
      }
    }
    if (from_start) first.reset();
  }
};

/// Whether two runs will go on alike, a small difference of the clock apart.
class Rejoining {
 public:
  Rejoining(const Site& site, const World& a, const World& b) : site_(site), a_(a), b_(b) {}

  /// The same people, wires and plates: what is sent from here on is the same.
  [[nodiscard]] bool sends_alike() const {
    for (std::size_t i = 1; i < a_.people.size(); ++i) {
      if (i >= b_.people.size() ? a_.people[i].done == 0 : a_.people[i] != b_.people[i]) return false;
    }
    if (!std::ranges::equal(a_.medium.impairments(), b_.medium.impairments())) return false;
    for (std::size_t i = 0; i < site_.plates.size(); ++i) {
      const auto plate = static_cast<DeviceId>(i);
      if (!alike(plate) || !plates_alike(plate)) return false;
    }
    return true;
  }

  [[nodiscard]] bool module_alike(std::size_t module) const {
    return alike(site_.module_id(module)) && modules_alike(module);
  }

 private:
  [[nodiscard]] bool alike(DeviceId device) const {
    const DeviceState& a = a_.devices[device];
    const DeviceState& b = b_.devices[device];
    return a.powered == b.powered && a.stuck == b.stuck && a.contacts == b.contacts && a.mode == b.mode &&
           a_.medium.nodes()[device].deaf_for == b_.medium.nodes()[device].deaf_for &&
           (a.mode == Mode::normal || time_outs_alike(a, b));
  }

  [[nodiscard]] bool time_outs_alike(const DeviceState& a, const DeviceState& b) const {
    const auto left = [](const World& world, const DeviceState& of) {
      const auto handle = of.timers[static_cast<std::size_t>(Timer::time_out)];
      return handle == sim::EventQueue::none ? sim::Duration::zero() : world.queue.due(handle) - world.now;
    };
    return std::chrono::abs(left(a_, a) - left(b_, b)) <= time_outs_apart;
  }

  [[nodiscard]] bool plates_alike(DeviceId plate) const {
    const PlateState& a = a_.plates[plate];
    const PlateState& b = b_.plates[plate];
    return a.channel == b.channel && a.site == b.site && a.zone == b.zone && a.moving == b.moving &&
           a.awake == b.awake;
  }

  [[nodiscard]] bool modules_alike(std::size_t module) const {
    const ModuleState& a = a_.modules[module];
    const ModuleState& b = b_.modules[module];
    return a.memory == b.memory && a.storing == b.storing && a.target == b.target && a.moving == b.moving &&
           a.awake == b.awake && a_.loads[module].dead == b_.loads[module].dead &&
           heading(a_.loads[module]) == heading(b_.loads[module]);
  }

  static constexpr sim::Duration time_outs_apart = std::chrono::milliseconds{1500};

  const Site& site_;
  const World& a_;
  const World& b_;
};

}  // namespace drybus::model
