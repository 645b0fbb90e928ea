#include "model/handover/trial.h"

#include <fmt/format.h>

#include <cstdlib>

#include "model/handover/install.h"
#include "model/people/timetable.h"
#include "model/planning/cover_work.h"
#include "model/planning/ways_into_setup.h"
#include "model/record/describe.h"
#include "model/run/driver.h"
#include "model/world/facts.h"
#include "model/world/simulation.h"

namespace drybus::model {

using namespace std::chrono_literals;

namespace {

/// Levels nearer to each other than this nobody tells apart without an instrument; in tenths of a percent.
constexpr int level_apart = 150;
constexpr std::size_t most_events = 5'000'000;

class ScriptMaker {
 public:
  ScriptMaker(const Site& site, PlaceId start, bool alone) : alone_(alone), stands_(start), start_(start) {
    trial_.scenario.site = site;
    trial_.scenario.people.push_back({"installer", start, {}});
  }

  Trial make(const std::vector<RoundAct>& acts) {
    for (const RoundAct& act : acts) {
      trial_.steps_before.push_back(static_cast<std::uint32_t>(script().size()));
      add(act);
      ++act_;
    }
    trial_.steps_before.push_back(static_cast<std::uint32_t>(script().size()));
    return std::move(trial_);
  }

 private:
  [[nodiscard]] std::vector<Step>& script() { return trial_.scenario.people[0].script; }
  [[nodiscard]] const Site& site() const { return trial_.scenario.site; }
  [[nodiscard]] Step fade_over() const {
    return wait_step(site().longest([](const Family& each) { return each.module.fade; }) + 500ms);
  }

  void add(const RoundAct& act) {
    switch (act.kind) {
      case RoundAct::Kind::power_cut:
        return cut_power();
      case RoundAct::Kind::look:
        return look_around(act);
      case RoundAct::Kind::enter:
        push(StepKind::hold, act.plate, site().setup_gesture(act.plate),
             site().setup_hold(act.plate) + 500ms);
        return look(act);
      case RoundAct::Kind::channel:
        return step_channel(act);
      case RoundAct::Kind::leave:
        return push(StepKind::press, act.plate, only(site().plate_family(act.plate).leave),
                    trial_.scenario.times.press);
      case RoundAct::Kind::key:
        push(StepKind::press, act.plate, only(act.button), trial_.scenario.times.press);
        script().push_back(fade_over());
        return look_around(act);
      case RoundAct::Kind::restore:
        push(StepKind::press, act.plate, only(act.button), trial_.scenario.times.press);
        return script().push_back(fade_over());
    }
  }

  void push(StepKind kind, DeviceId device, Buttons buttons, sim::Duration duration) {
    script().push_back(push_step(kind, device, buttons, duration));
    stands_ = site().place(device);
  }

  void cut_power() {
    for (const bool on : {false, true}) {
      Step step;
      step.kind = StepKind::power;
      step.on = on;
      script().push_back(step);
      script().push_back(wait_step(on ? start_takes : off_for));
    }
  }

  void look_around(const RoundAct& act) {
    if (act.from != stands_) {
      Step walk;
      walk.kind = StepKind::walk;
      walk.place = act.from;
      script().push_back(walk);
      stands_ = act.from;
    }
    script().push_back(wait_step(looking_takes(act.looked_at.size())));
    look(act);
  }

  /// The flash has to be over before the next one.
  void step_channel(const RoundAct& act) {
    push(StepKind::press, act.plate, only(channel_button(site(), act)), trial_.scenario.times.press);
    look(act);
    script().push_back(wait_step(
        std::max<sim::Duration>(site().longest([](const Family& each) { return each.module.flash; }) + 500ms,
                                looking_takes(act.looked_at.size()))));
  }

  void look(const RoundAct& act) {
    if (!act.looked_at.empty()) script().push_back(see(act.looked_at));
    if (act.helper_sees.empty()) return;
    if (alone_) {
      script().push_back(see(act.helper_sees));
    } else {
      helped(act.helper_at, see(act.helper_sees));
    }
  }

  [[nodiscard]] Step see(const std::vector<DeviceId>& devices) {
    Step step;
    step.kind = StepKind::see;
    for (const DeviceId device : devices) {
      const auto check = static_cast<std::uint32_t>(trial_.scenario.checks.size());
      const Fact fact = site().is_plate(device) ? Fact::indicator : Fact::load;
      trial_.scenario.checks.push_back({fact, device, {""}, true, {}});
      trial_.looks.push_back({act_, check});
      step.checks.push_back(check);
    }
    return step;
  }

  /// The helper stands there by then; both keep to the hour.
  void helped(PlaceId place, Step see) {
    if (trial_.scenario.people.size() == 1) trial_.scenario.people.push_back({"helper", place, {}});
    std::vector<Step>& theirs = trial_.scenario.people[1].script;
    Step walk;
    walk.kind = StepKind::walk;
    walk.place = place;
    if (helper_stands_ != place) theirs.push_back(walk);
    helper_stands_ = place;
    Person installer = trial_.scenario.people[0];
    installer.place = start_;
    see.at = timetable(site(), trial_.scenario.times, installer).ends;
    theirs.push_back(see);
  }

  Trial trial_;
  bool alone_;
  PlaceId stands_;
  PlaceId start_;
  PlaceId helper_stands_ = no_place;
  std::uint32_t act_ = 0;
};

std::uint16_t value_of(const Scenario& scenario, const World& world, const Check& check) {
  if (check.fact == Fact::indicator) return static_cast<std::uint16_t>(world.devices[check.device].indicator);
  return static_cast<std::uint16_t>(world.loads[scenario.site.module_index(check.device)].at(world.now));
}

}  // namespace

Button channel_button(const Site& site, const RoundAct& act) {
  const PlateFamily& family = site.plate_family(act.plate);
  return act.channel == first_channel(family) ? family.identify : family.next;
}

sim::Duration looking_takes(std::size_t loads) {
  return 1s + 500ms * static_cast<std::int64_t>(loads);
}

Trial make_trial(const Site& site, const std::vector<RoundAct>& acts, PlaceId start, bool alone) {
  return ScriptMaker{site, start, alone}.make(acts);
}

namespace {

/// Until everybody's script is at its end; nothing when that never comes.
std::optional<Sighting> carry_through(const Trial& trial, Simulation& simulation) {
  const Scenario& scenario = trial.scenario;
  World& world = simulation.world();
  Sighting seen;
  seen.values.assign(scenario.checks.size(), 0);
  simulation.on_check([&](std::uint32_t check, sim::EntryId) {
    seen.values[check] = value_of(scenario, world, scenario.checks[check]);
    return true;
  });
  std::vector<Level> left;
  for (const LoadState& load : world.loads) left.push_back(heading(load));
  const auto watch = [&] {
    const auto& modules = scenario.site.modules;
    for (std::size_t i = 0; i < modules.size(); ++i)
      seen.touched = seen.touched || (modules[i].do_not_switch && heading(world.loads[i]) != left[i]);
  };
  const sim::Instant began = world.now;
  Budget budget;
  budget.events = most_events;
  Driver driver{simulation, budget};
  try {
    if (!driver.go_on([&] { return simulation.scripts_done(); }, watch)) return std::nullopt;
  } catch (const UsedUp&) {
    return std::nullopt;
  }
  seen.took = world.now - began;
  return seen;
}

}  // namespace

std::optional<Sighting> try_out(const Trial& trial, World world) {
  for (std::size_t i = 1; i < world.people.size(); ++i) {
    if (world.people[i].done == 0) return std::nullopt;
  }
  const Scenario& scenario = trial.scenario;
  world.people.assign(scenario.people.size(), {});
  Simulation simulation{scenario, world};
  for (std::size_t i = 0; i < scenario.people.size(); ++i) {
    world.people[i].place = scenario.people[i].place;
    simulation.schedule(sim::Duration::zero(), Happening::person, static_cast<std::uint32_t>(i), 0,
                        sim::no_entry);
  }
  return carry_through(trial, simulation);
}

std::optional<Sighting> try_from_start(const Trial& trial) {
  World world = initial_world(trial.scenario);
  Simulation simulation{trial.scenario, world};
  simulation.begin();
  return carry_through(trial, simulation);
}

bool tells_apart(const Trial& trial, const Sighting& a, const Sighting& b) {
  for (const RoundLook& look : trial.looks) {
    const std::uint16_t x = a.values[look.check], y = b.values[look.check];
    if (x == y) continue;
    if (trial.scenario.checks[look.check].fact == Fact::indicator) return true;
    if ((x > 0) != (y > 0) || std::abs(x - y) > level_apart) return true;
  }
  return false;
}

void expect_as_seen(Trial& trial, const Sighting& right) {
  for (const RoundLook& look : trial.looks) {
    Check& check = trial.scenario.checks[look.check];
    const std::uint16_t value = right.values[look.check];
    if (check.fact == Fact::indicator) {
      check.wanted = {std::string{to_string(static_cast<Pattern>(value))}};
    } else {
      check.wanted = {value == 0 ? "dark" : percent_text(static_cast<Level>(value))};
    }
  }
}

}  // namespace drybus::model
