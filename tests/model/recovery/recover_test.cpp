#include "model/recovery/recover.h"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <queue>

#include "model/findings/findings.h"
#include "model/planning/route.h"
#include "model/recovery/script.h"
#include "model/recovery/search.h"
#include "model/run/run.h"
#include "model/world/simulation.h"
#include "sim/random.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;
using namespace std::chrono_literals;
using tests::accept;
using tests::off;
using tests::set;
using tests::up;

World world_of(const Scenario& scenario) {
  return run(scenario).world;
}

Cure cure_of(const Scenario& scenario, const RecoverOptions& options = {}) {
  const Possibility possibility{&scenario, world_of(scenario), 1};
  return recover(scenario, std::span{&possibility, 1}, options);
}

/// Runs the cure in the world that the scenario ends in.
std::vector<std::string> left_amiss(const Scenario& scenario, const Cure& cure) {
  return amiss(scenario, cure.aim, world_after(scenario, world_of(scenario), cure.steps));
}

DeviceId id(const Scenario& scenario, const std::string& name) {
  return scenario.site.find_device(name).value();
}

// --- the quickest, found by trying everything ---

/// Every sequence of presses, holds and waits, run in real worlds one after another in order of time: no
/// rules, no bound, no knowledge of what an action is good for.
class BruteForce {
 public:
  BruteForce(const Scenario& scenario, const Aim& aim) : scenario_(scenario), aim_(aim) {
    const Site& site = scenario.site;
    const PlateFamily& plate_family = site.family.plate;
    for (DeviceId device = 0; device < site.device_count(); ++device) {
      moves_.push_back(push_step(StepKind::hold, device, site.setup_gesture(device),
                                 site.setup_hold(device) + hold_margin));
      if (!site.is_plate(device)) {
        moves_.push_back(push_step(StepKind::press, device, only(0), scenario.times.press));
        continue;
      }
      for (const Button button :
           {plate_family.next, plate_family.previous, plate_family.assign, plate_family.leave})
        moves_.push_back(push_step(StepKind::press, device, only(button), scenario.times.press));
      if (world_switches_differ(device)) add_switches(device);
    }
  }

  /// The least time to a world as aimed; nothing within the bound.
  std::optional<sim::Duration> least(const World& from, sim::Duration bound) {
    const sim::Instant begin = from.now;
    open(from);
    while (!open_.empty()) {
      const World world = std::move(worlds_[open_.top().second]);
      open_.pop();
      if (world.now - begin > bound) return std::nullopt;
      if (is_as_aimed(scenario_, aim_, world)) return world.now - begin;
      for (const Step& move : moves_) open(world_after(scenario_, world, std::span{&move, 1}));
      open_waits(world);
    }
    return std::nullopt;
  }

 private:
  [[nodiscard]] bool world_switches_differ(DeviceId plate) const {
    return PlateSetting{scenario_.site.plates[plate].site, scenario_.site.plates[plate].zone} !=
           aim_.plates[plate];
  }
  void add_switches(DeviceId plate) {
    Step step;
    step.kind = StepKind::switches;
    step.device = plate;
    step.site = aim_.plates[plate].site;
    step.zone = aim_.plates[plate].zone;
    moves_.push_back(step);
  }

  /// Until just after a time-out.
  void open_waits(const World& world) {
    for (DeviceId device = 0; device < world.devices.size(); ++device) {
      const auto handle = world.devices[device].timers[static_cast<std::size_t>(Timer::time_out)];
      if (handle == sim::EventQueue::none) continue;
      Step wait;
      wait.kind = StepKind::wait;
      wait.duration = ((world.queue.due(handle) - world.now) / 1s + 1) * 1s;
      open(world_after(scenario_, world, std::span{&wait, 1}));
    }
  }

  /// What decides how it goes on; the same at the same or a later moment is no use.
  std::vector<std::int64_t> key(const World& world) const {
    std::vector<std::int64_t> key{world.people[0].place};
    for (DeviceId device = 0; device < world.devices.size(); ++device) {
      key.push_back(static_cast<std::int64_t>(world.devices[device].mode));
      const auto handle = world.devices[device].timers[static_cast<std::size_t>(Timer::time_out)];
      key.push_back(handle == sim::EventQueue::none ? -1 : (world.queue.due(handle) - world.now) / 1ms);
    }
    for (const PlateState& plate : world.plates)
      key.insert(key.end(), {plate.channel, plate.site, plate.zone});
    for (const ModuleState& module : world.modules) {
      const ModuleMemory& memory = module.storing != 0 ? module.writing : module.memory;
      key.insert(key.end(), {memory.address.site, memory.address.zone, memory.address.channel,
                             static_cast<std::int64_t>(memory.power_up)});
    }
    return key;
  }

  void open(World world) {
    const auto [known, fresh] = known_.insert({key(world), world.now});
    if (!fresh && known->second <= world.now) return;
    known_[known->first] = world.now;
    open_.push({world.now, worlds_.size()});
    worlds_.push_back(std::move(world));
  }

  using Open = std::pair<sim::Instant, std::size_t>;
  const Scenario& scenario_;
  const Aim& aim_;
  std::vector<Step> moves_;
  std::vector<World> worlds_;
  std::priority_queue<Open, std::vector<Open>, std::greater<>> open_;
  std::map<std::vector<std::int64_t>, sim::Instant> known_;
};

/// A small site in two places that somebody has been at.
Scenario muddled_site(std::uint64_t seed) {
  sim::Stream draw{seed, sim::Purpose::generator, 1, 0};
  Scenario scenario = tests::small_scenario(2);
  Site& site = scenario.site;
  site.places = {{"hall"}, {"loft"}};
  site.walks = shortest_walks(2, {{0, 1, std::chrono::seconds{4 + draw.below(60)}}}, 30s);
  site.family.plate.channels = 3;
  if (draw.below(2) == 0) site.family.plate.time_out.from = CountedFrom::entry;
  for (ModuleSpec& module : site.modules) {
    module.place = static_cast<PlaceId>(draw.below(2));
    module.memory.power_up = PowerUp::off;
    if (draw.below(3) != 0) module.memory.address = *module.intended;
  }
  if (draw.below(4) == 0) {  // not the other's: two with one address have to be tried in another order
    site.modules[0].memory.address = {23, 4, 3};
  }
  tests::Script script{scenario};
  for (std::uint64_t i = draw.below(4); i > 0; --i) {
    const std::string module = draw.below(2) == 0 ? "M1" : "M2";
    switch (draw.below(4)) {
      case 0:
        script.hold("P1", set, 2700ms);
        break;
      case 1:
        script.hold(module, 0, 3700ms);
        break;
      case 2:
        script.press("P1", up);
        break;
      default:
        script.wait(std::chrono::seconds{draw.below(100)});
        break;
    }
  }
  return scenario;
}

}  // namespace

TEST_SUITE("model") {
  TEST_CASE("a site where all is well needs no cure") {
    Scenario scenario = tests::small_scenario(2);
    tests::Script script{scenario};
    tests::address(script, "P1", "M1", 1);
    tests::address(script, "P1", "M2", 2);
    script.press("P1", off);
    const Cure cure = cure_of(scenario);
    CHECK(cure.end == Cure::End::nothing_to_do);
    CHECK(cure.steps.empty());
  }

  TEST_CASE("no sequence of presses, holds and waits cures a small site sooner") {
    // The second engine knows no rules: it tries every move in every world, in order of time.
    std::size_t cured = 0;
    for (std::uint64_t seed = 1; seed <= 24; ++seed) {
      CAPTURE(seed);
      const Scenario scenario = muddled_site(seed);
      RecoverOptions options;
      options.reserve_percent = 0;
      const Cure cure = cure_of(scenario, options);
      if (cure.end == Cure::End::nothing_to_do) continue;
      REQUIRE(cure.end == Cure::End::found);
      CHECK(cure.shortest);
      CHECK(left_amiss(scenario, cure).empty());
      if (cure.time > 60s) continue;  // too much for trying everything
      const auto least = BruteForce{scenario, cure.aim}.least(world_of(scenario), cure.time);
      REQUIRE(least.has_value());
      CHECK(sim::seconds(cure.time) == doctest::Approx(sim::seconds(*least)).epsilon(0.0001));
      ++cured;
    }
    CHECK(cured >= 8);
  }

  TEST_CASE("a module that waits in setup already is not held again") {
    Scenario scenario = tests::small_scenario(1);
    tests::Script{scenario}.hold("M1", 0, 3700ms);
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    CHECK(std::none_of(cure.steps.begin(), cure.steps.end(), [&](const Step& step) {
      return step.kind == StepKind::hold && step.device == id(scenario, "M1");
    }));
    CHECK(left_amiss(scenario, cure).empty());
  }

  TEST_CASE("a cure for two worlds works in both: whoever may be in setup is pressed first") {
    Scenario left = tests::small_scenario(2);
    tests::Script script{left};
    tests::address(script, "P1", "M1", 1);
    Scenario still = left;
    tests::Script{left}.press("P1", off);
    tests::Script{still}.hold("M2", 0, 3700ms);
    const std::vector<Possibility> both{{&left, world_of(left), 0.6}, {&still, world_of(still), 0.4}};
    const Cure cure = recover(left, both, {});
    REQUIRE(cure.end == Cure::End::found);
    for (const Possibility& possibility : both) {
      CHECK(amiss(*possibility.scenario, cure.aim,
                  world_after(*possibility.scenario, possibility.world, cure.steps))
                .empty());
    }
    // What is right for one world alone fails in the other.
    const Cure for_one = recover(left, std::span{both}.first(1), {});
    CHECK(!amiss(still, cure.aim, world_after(still, both[1].world, for_one.steps)).empty());
  }

  TEST_CASE("two with one address, one of them in a loft: only one is addressed again") {
    Scenario scenario = tests::small_scenario(3);
    scenario.site.places = {{"hall"}, {"loft"}};
    scenario.site.walks = shortest_walks(2, {{0, 1, 40s}}, 40s);
    scenario.site.modules[1].place = 1;
    for (ModuleSpec& module : scenario.site.modules) {
      module.memory.address = *module.intended;
      module.memory.power_up = PowerUp::off;
    }
    scenario.site.modules[1].memory.address.channel = 1;
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    CHECK(left_amiss(scenario, cure).empty());
    const auto holds = std::count_if(cure.steps.begin(), cure.steps.end(),
                                     [](const Step& step) { return step.kind == StepKind::hold; });
    CHECK(holds == 2);  // the module and the plate
  }

  TEST_CASE("an open link is a repair with its caution, and comes before everything else") {
    Scenario scenario = tests::small_scenario(2);
    Fault open;
    open.kind = FaultKind::open;
    open.link = *scenario.site.find_link("M1-M2");
    tests::Script{scenario}.fault(open).wait(1s);
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    CHECK(cure.repairs == 1);
    REQUIRE(cure.lines.size() > 3);
    CHECK(cure.lines[1].text.find("electrician") != std::string::npos);
    for (std::size_t i = 0; i < 3; ++i) CHECK(cure.lines[i].caution == safety_caution);
    CHECK(cure.steps[0].kind == StepKind::power);
    CHECK_FALSE(cure.steps[0].on);
    CHECK(left_amiss(scenario, cure).empty());
  }

  TEST_CASE("a stuck button is freed, and a module without power gets it back") {
    Scenario scenario = tests::small_scenario(2);
    Fault stuck;
    stuck.kind = FaultKind::stuck;
    stuck.device = id(scenario, "P1");
    stuck.button = up;
    tests::Script{scenario}.fault(stuck).power("M2", false).wait(40s);
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    CHECK(left_amiss(scenario, cure).empty());
  }

  TEST_CASE("a zone switch that was set wrong is set right before anything is assigned") {
    Scenario scenario = tests::small_scenario(1);
    scenario.site.plates[0].zone = 0;
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    CHECK(cure.aim.plates[0] == PlateSetting{23, 4});
    CHECK(left_amiss(scenario, cure).empty());
  }

  TEST_CASE("a module that comes up lit takes another site number first, and comes up dark from then on") {
    Scenario scenario = tests::small_scenario(1);
    scenario.site.modules[0].memory.address = *scenario.site.modules[0].intended;
    scenario.site.modules[0].memory.power_up = PowerUp::full;
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    const World after = world_after(scenario, world_of(scenario), cure.steps);
    CHECK(after.modules[0].memory.power_up == PowerUp::off);
    CHECK(after.modules[0].memory.address == *scenario.site.modules[0].intended);
    CHECK(after.plates[0].site == 23);
  }

  TEST_CASE("a neighbour with our site number makes us take another one everywhere") {
    Scenario scenario = tests::small_scenario(2, 2);
    scenario.site.plates[1].neighbour = true;
    for (ModuleSpec& module : scenario.site.modules) module.memory.address = *module.intended;
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    REQUIRE(cure.aim.changes.size() == 1);
    const World after = world_after(scenario, world_of(scenario), cure.steps);
    CHECK(after.plates[0].site != 23);
    for (const ModuleState& module : after.modules) CHECK(module.memory.address.site == after.plates[0].site);
  }

  TEST_CASE("two modules that are meant to have one address cannot be cured, and it is said why") {
    Scenario scenario = tests::small_scenario(2);
    scenario.site.modules[1].intended = scenario.site.modules[0].intended;
    const Cure cure = cure_of(scenario);
    CHECK(cure.end == Cure::End::no_cure);
    REQUIRE(cure.reasons.size() == 1);
    CHECK(cure.reasons[0].find("both meant") != std::string::npos);
  }

  TEST_CASE("a module that misses a few telegrams is offered its address more often") {
    Scenario scenario = tests::small_scenario(1);
    Fault deaf;
    deaf.kind = FaultKind::deaf;
    deaf.device = id(scenario, "M1");
    deaf.count = 4;
    tests::Script{scenario}.fault(deaf).wait(1s);
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    CHECK(left_amiss(scenario, cure).empty());
  }

  TEST_CASE("a module that will never hear again cannot be cured by pressing") {
    Scenario scenario = tests::small_scenario(1);
    Fault deaf;
    deaf.kind = FaultKind::deaf;
    deaf.device = id(scenario, "M1");
    deaf.count = 60000;
    tests::Script{scenario}.fault(deaf).wait(1s);
    const Cure cure = cure_of(scenario);
    CHECK(cure.end == Cure::End::no_cure);
    CHECK(!cure.reasons.empty());
  }

  TEST_CASE("forty modules in several places, all in a muddle, are cured in every one of eight worlds") {
    Scenario scenario = tests::small_scenario(40, 4);
    Site& site = scenario.site;
    site.places = {{"a"}, {"b"}, {"c"}};
    site.walks = shortest_walks(3, {{0, 1, 25s}, {1, 2, 30s}}, 60s);
    for (std::size_t i = 0; i < 40; ++i) {
      site.modules[i].place = static_cast<PlaceId>(i / 2 % 3);
      site.modules[i].intended =
          Address{23, static_cast<std::uint8_t>(4 + i % 4), static_cast<std::uint8_t>(1 + i / 4)};
    }
    std::vector<Scenario> scenarios(8, scenario);
    std::vector<Possibility> worlds;
    for (std::size_t w = 0; w < scenarios.size(); ++w) {
      sim::Stream draw{w, sim::Purpose::generator, 2, 0};
      for (ModuleSpec& module : scenarios[w].site.modules) {
        if (draw.below(2) == 0) module.memory.address = *module.intended;
        if (draw.below(8) == 0) module.memory.address = {23, 4, 1};
      }
      tests::Script script{scenarios[w]};
      script.hold(fmt::format("M{}", 1 + draw.below(40)), 0, 3700ms).hold("P2", set, 2700ms);
      worlds.push_back({&scenarios[w], world_of(scenarios[w]), 1.0 / 8});
    }
    RecoverOptions options;
    options.of_this_moment = false;
    const Cure cure = recover(scenario, worlds, options);
    REQUIRE(cure.end == Cure::End::found);
    for (const Possibility& world : worlds) {
      CHECK(amiss(*world.scenario, cure.aim, world_after(*world.scenario, world.world, cure.steps)).empty());
    }
  }

  TEST_CASE("the scenario of a cure passes, and none of its findings is open in the end") {
    Scenario scenario = tests::small_scenario(2);
    tests::Script script{scenario};
    script.hold("P1", set, 2700ms)
        .hold("M1", 0, 3700ms)
        .hold("M2", 0, 3700ms)
        .press("P1", up)
        .press("P1", accept);
    const Cure cure = cure_of(scenario);
    REQUIRE(cure.end == Cure::End::found);
    const CuredScenario cured = cured_scenario(scenario, cure, world_of(scenario).now);
    CHECK(cured.proves());
    CHECK(std::any_of(cured.run.findings.begin(), cured.run.findings.end(), [](const Finding& finding) {
      return finding.id == FindingId::shared_address && finding.until.has_value();
    }));
  }
}
