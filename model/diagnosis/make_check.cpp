#include "model/diagnosis/make_check.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <map>
#include <set>

#include "model/record/describe.h"
#include "model/run/driver.h"
#include "model/words/words.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

using namespace std::chrono_literals;

/// A lamp is looked at for so long.
constexpr sim::Duration look_time = 6s;

}  // namespace

std::string joined(const std::vector<std::string>& parts) {
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::vector<Step> steps_of(const Site& site, const HumanTimes& times, const SiteCheck& check) {
  const auto walk_there = [&] {
    Step walk;
    walk.kind = StepKind::walk;
    walk.place = site.place(check.device);
    return walk;
  };
  const auto wait = [](sim::Duration duration) {
    Step step;
    step.kind = StepKind::wait;
    step.duration = duration;
    return step;
  };
  const auto press = [&](Buttons buttons) {
    return push_step(StepKind::press, check.device, buttons, times.press);
  };
  switch (check.kind) {
    case SiteCheck::Kind::look:
      return {walk_there(), wait(look_time)};
    case SiteCheck::Kind::press_local:
      return {press(only(0)), wait(1s)};
    case SiteCheck::Kind::press_plate:
      return {press(only(check.button)), wait(1500ms)};
    case SiteCheck::Kind::read_switches:
      return {walk_there(), wait(2s)};
    case SiteCheck::Kind::power_cycle: {
      Step off = walk_there();
      off.kind = StepKind::power;
      off.device = check.device;
      off.on = false;
      Step on = off;
      on.on = true;
      return {walk_there(), off, wait(5s), on, wait(1s)};
    }
    case SiteCheck::Kind::identify: {
      std::vector<Step> steps{push_step(StepKind::hold, check.device, site.setup_gesture(check.device),
                                        site.setup_hold(check.device) + 500ms)};
      for (std::uint8_t channel = 0; channel < check.channel; ++channel) {
        steps.push_back(press(only(site.plate_family(check.device).next)));
        steps.push_back(
            wait(site.longest([](const Family& each) { return each.indicator.identify; }) + 500ms));
      }
      steps.push_back(press(only(site.plate_family(check.device).leave)));
      return steps;
    }
  }
  return {};
}

namespace {

/// One check being made: the world goes on, and what a person would notice is noted.
class Making {
 public:
  Making(Scenario& scenario, World world, const SiteCheck& check)
      : scenario_(scenario), site_(scenario.site), check_(check), world_(std::move(world)), before_(world_) {
    scenario_.people.front().script = steps_of(site_, scenario_.times, check_);
    world_.people.front() = {world_.people.front().place, 0, 0, 0};
  }

  Observed make() {
    Simulation simulation{scenario_, world_};
    simulation.schedule(sim::Duration::zero(), Happening::person, 0, 0, sim::no_entry);
    watched_ = check_.watch;
    if (std::find(watched_.begin(), watched_.end(), check_.device) == watched_.end())
      watched_.push_back(check_.device);
    shown_.assign(world_.devices.size(), 0);
    std::uint16_t step = 0;
    Driver{simulation}.go_on([this] { return world_.people.front().done != 0; },
                             [&] {
                               note_lamps(step);
                               step = world_.people.front().step;
                             });
    return {outcome(), std::move(world_)};
  }

 private:
  void note_lamps(std::uint16_t last_step) {
    const std::uint16_t step = world_.people.front().step;
    // What shows before the button is pressed is no answer to it; nor is what an earlier channel left
    // showing.
    const bool wait_begins = step != last_step;
    if (check_.kind == SiteCheck::Kind::identify && wait_begins && step % 2 == 0 && step > 0)
      note_steady(step);
    if (step == 0 && check_.kind != SiteCheck::Kind::press_plate &&
        check_.kind != SiteCheck::Kind::press_local)
      return;
    for (const DeviceId device : watched_) {
      shown_[device] |= 1u << static_cast<unsigned>(world_.devices[device].indicator);
    }
  }

  /// At the wait after a step up: who shows itself, and at which channel that is.
  void note_steady(std::uint16_t step) {
    for (const DeviceId device : watched_) {
      if (world_.devices[device].indicator != Pattern::steady) continue;
      identified_[device].insert(step / 2);
    }
  }

  [[nodiscard]] bool showed(DeviceId device, Pattern pattern) const {
    return (shown_[device] & 1u << static_cast<unsigned>(pattern)) != 0;
  }

  [[nodiscard]] const LoadState& load(const World& world, DeviceId module) const {
    return world.loads[site_.module_index(module)];
  }
  [[nodiscard]] bool is_lit(DeviceId module) const { return heading(load(world_, module)) > 0; }
  /// What became of a load.
  [[nodiscard]] std::string moved(DeviceId module) const {
    const bool was_lit = heading(load(before_, module)) > 0;
    if (is_lit(module)) return was_lit ? tr("stays lit") : tr("goes lit");
    return was_lit ? tr("goes dark") : tr("stays dark");
  }

  [[nodiscard]] std::string lamp_text(DeviceId device) const {
    constexpr std::array telling = {Pattern::blink, Pattern::breathe, Pattern::steady, Pattern::refuse};
    static_assert(telling.size() + 2 == sim::count_of<Pattern>, "what does a lamp that shows it tell?");
    for (const Pattern pattern : telling) {
      if (showed(device, pattern)) return tr("lamp shows {}", in_words_spoken(to_string(pattern)));
    }
    return showed(device, Pattern::blip) ? tr("lamp blips") : tr("lamp dark");
  }

  [[nodiscard]] std::string outcome() const {
    const std::string& name = site_.name(check_.device);
    switch (check_.kind) {
      case SiteCheck::Kind::look:
        if (site_.is_plate(check_.device)) return fmt::format("{}: {}", name, lamp_text(check_.device));
        return is_lit(check_.device) ? tr("{}: {}, load lit", name, lamp_text(check_.device))
                                     : tr("{}: {}, load dark", name, lamp_text(check_.device));
      case SiteCheck::Kind::press_local:
        return tr("{}: load {}", name, moved(check_.device));
      case SiteCheck::Kind::power_cycle:
        return is_lit(check_.device) ? tr("{}: load comes up lit", name) : tr("{}: load comes up dark", name);
      case SiteCheck::Kind::read_switches: {
        const PlateState& plate = world_.plates[check_.device];
        return tr("{}: site {}, zone {}", name, plate.site, plate.zone);
      }
      case SiteCheck::Kind::press_plate:
        return watched_loads();
      case SiteCheck::Kind::identify:
        return watched_channels();
    }
    return {};
  }

  [[nodiscard]] std::string watched_loads() const {
    std::vector<std::string> parts;
    for (const DeviceId module : check_.watch) {
      const bool any_sign = shown_[module] != 1u << static_cast<unsigned>(Pattern::dark);
      parts.push_back(fmt::format("{} {}{}", site_.name(module), moved(module),
                                  any_sign ? std::string{} : tr(" without a blip")));
    }
    return joined(parts);
  }

  [[nodiscard]] std::string watched_channels() const {
    std::vector<std::string> parts;
    for (const DeviceId module : check_.watch) {
      const auto found = identified_.find(module);
      const std::string where =
          found == identified_.end()
              ? tr("never")
              : fmt::format(fmt::runtime(tr_as("channel", "at {}")), fmt::join(found->second, tr(" and ")));
      parts.push_back(fmt::format("{} {}", site_.name(module), where));
    }
    return joined(parts);
  }

  Scenario& scenario_;
  const Site& site_;
  const SiteCheck& check_;
  World world_;
  World before_;
  std::vector<DeviceId> watched_;
  std::vector<unsigned> shown_;
  std::map<DeviceId, std::set<int>> identified_;
};

}  // namespace

Observed make_check(Scenario& scenario, World world, const SiteCheck& check) {
  return Making{scenario, std::move(world), check}.make();
}

Observed observe(const Scenario& scenario, const World& world, const SiteCheck& check) {
  Scenario own = scenario;
  return make_check(own, world, check);
}

}  // namespace drybus::model
