// A cure had accept pressed while no module was in setup, to be rid of one that might be. Every press of it must
// meet exactly the modules that it is for. Sites, slips and worlds are random; the cure is played step by step, and
// what each press meets is read off the worlds.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>

#include "model/planning/route.h"
#include "model/recovery/recover.h"
#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;
using namespace std::chrono_literals;

void muddle(Scenario& scenario, sim::Stream& draw) {
  tests::Script script{scenario};
  const std::size_t plates = scenario.site.plates.size();
  for (std::uint64_t i = draw.below(5); i > 0; --i) {
    const std::string plate = fmt::format("P{}", 1 + draw.below(plates));
    switch (draw.below(5)) {
      case 0:
        script.hold(plate, tests::set, 2700ms);
        break;
      case 1:
      case 2:
        script.hold(fmt::format("M{}", 1 + draw.below(scenario.site.modules.size())), 0, 3700ms);
        break;
      case 3:
        script.press(plate, tests::up);
        break;
      default:
        script.wait(std::chrono::seconds{draw.below(120)});
        break;
    }
  }
}

/// Modules in several places, some with another's address, some that come up lit; plates that may stand wrong.
Scenario random_site(sim::Stream& draw) {
  Scenario scenario = tests::small_scenario(1 + draw.below(4), 1 + draw.below(2));
  Site& site = scenario.site;
  site.places = {{"hall"}, {"loft"}, {"cellar"}};
  site.walks = shortest_walks(
      3, {{0, 1, std::chrono::seconds{4 + draw.below(45)}}, {1, 2, std::chrono::seconds{4 + draw.below(45)}}},
      60s);
  site.family.plate.channels = 4;
  if (draw.below(2) == 0) site.family.plate.time_out.from = CountedFrom::entry;
  if (draw.below(2) == 0) site.family.module.time_out.from = CountedFrom::last_press;
  for (PlateSpec& plate : site.plates) {
    plate.place = static_cast<PlaceId>(draw.below(3));
    if (draw.below(4) == 0) plate.zone = static_cast<std::uint8_t>(draw.below(4));
    if (draw.below(6) == 0) plate.site = 24;
  }
  for (ModuleSpec& module : site.modules) {
    module.place = static_cast<PlaceId>(draw.below(3));
    if (draw.below(5) != 0) module.memory.power_up = PowerUp::off;
    if (draw.below(3) != 0) module.memory.address = *module.intended;
    if (draw.below(5) == 0) module.memory.address = {23, 4, 3};
  }
  return scenario;
}

Step go_to(const Site& site, DeviceId device) {
  Step walk;
  walk.kind = StepKind::walk;
  walk.place = site.place(device);
  return walk;
}

/// What does not hold of a cure in one world, in words.
std::string broken(const Scenario& scenario, const Cure& cure, World world) {
  const Site& site = scenario.site;
  std::vector<char> put_in(site.device_count(), 0);
  bool isolated = false;
  for (std::size_t i = 0; i < cure.steps.size(); ++i) {
    const Step& step = cure.steps[i];
    const auto where = [&](const std::string& what) { return fmt::format("step {}: {}", i, what); };
    if (step.kind == StepKind::switches && !isolated) return where("switches with the supply on");
    if (step.kind == StepKind::hold) {
      if (isolated) return where("held with the supply off");
      put_in[step.device] = 1;
    }
    if (step.kind == StepKind::power) {
      for (DeviceId device = 0; device < site.device_count(); ++device) {
        if (!step.on && put_in[device] != 0 && world.devices[device].mode == Mode::setup)
          return where("isolated while in setup: " + site.name(device));
      }
      isolated = !step.on;
    }
    const bool offers = step.kind == StepKind::press && site.is_plate(step.device) &&
                        step.buttons == only(site.family.plate.assign);
    if (offers) {
      const Step walk = go_to(site, step.device);
      const World there = world_after(scenario, world, std::span{&walk, 1});
      const PlateState& plate = there.plates[step.device];
      const Address offered{plate.site, plate.zone, plate.channel};
      if (there.devices[step.device].mode != Mode::setup) return where("accept out of setup");
      std::size_t own = 0;
      std::size_t others = 0;
      for (std::size_t m = 0; m < site.modules.size(); ++m) {
        if (there.devices[site.module_id(m)].mode != Mode::setup) continue;
        const auto& aim = cure.aim.addresses[m];
        if (aim == offered) {
          ++own;
        } else if (aim && aim->site != offered.site && there.modules[m].memory.power_up == PowerUp::full) {
          ++others;
        } else {
          return where("accept also meets " + site.modules[m].name);
        }
      }
      if (own + others == 0) return where("accept meets nobody");
      if (own > 0 && own + others > 1) return where("accept meets several");
    }
    world = world_after(scenario, world, std::span{&step, 1});
  }
  const std::vector<std::string> left = amiss(scenario, cure.aim, world);
  return left.empty() ? std::string{} : "left: " + left.front();
}

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE("each accept of a cure meets exactly the module it is for, on 300 random sites") {
    std::size_t cured = 0;
    std::size_t opened = 0;
    std::size_t twice = 0;
    for (std::uint64_t seed = 1; seed <= 300; ++seed) {
      CAPTURE(seed);
      sim::Stream draw{seed, sim::Purpose::generator, 7, 0};
      const Scenario site = random_site(draw);
      std::vector<Scenario> scenarios(1 + draw.below(2), site);
      std::vector<Possibility> worlds;
      for (Scenario& scenario : scenarios) {
        muddle(scenario, draw);
        worlds.push_back({&scenario, run(scenario).world, 1.0 / static_cast<double>(scenarios.size())});
      }
      RecoverOptions options;
      options.of_this_moment = scenarios.size() == 1 && draw.below(3) != 0;
      options.effort = 4'000;
      const Cure cure = recover(site, worlds, options);
      if (cure.end != Cure::End::found) {
        const std::string why = cure.reasons.empty() ? "" : cure.reasons.front();
        CHECK_MESSAGE((cure.end == Cure::End::nothing_to_do || !cure.aim.obstacles.empty()), why);
        continue;
      }
      ++cured;
      opened += cure.opens ? 1 : 0;
      twice += std::count_if(cure.steps.begin(), cure.steps.end(),
                             [](const Step& step) { return step.kind == StepKind::power && !step.on; }) > 1;
      for (const Possibility& world : worlds) CHECK(broken(*world.scenario, cure, world.world) == "");
    }
    CHECK(cured > 200);
    CHECK(opened > 50);
    CHECK(twice > 20);
  }
}
