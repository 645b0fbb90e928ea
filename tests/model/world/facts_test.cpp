// Facts as text, and whether they are what a check wants.
#include "model/world/facts.h"

#include <doctest/doctest.h>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

constexpr DeviceId p1 = 0;
constexpr DeviceId m1 = 1;

/// P1 in setup at channel 3; M1 at 12.5 %, with 23/4/1 stored.
struct Hall {
  Hall() : scenario(small_scenario(1)), world(initial_world(scenario)) {
    world.devices[p1].mode = Mode::setup;
    world.devices[p1].indicator = Pattern::blink;
    world.plates[0].channel = 3;
    world.modules[0].memory.address = {23, 4, 1};
    world.modules[0].memory.power_up = PowerUp::last;
    world.loads[0].from = world.loads[0].to = 125;
  }
  [[nodiscard]] std::string text(DeviceId device, Fact fact) const {
    return fact_text(scenario, world, device, fact);
  }
  [[nodiscard]] bool is(DeviceId device, Fact fact, const std::string& wanted) const {
    Check check;
    check.device = device;
    check.fact = fact;
    check.wanted = {wanted};
    return fact_is(scenario, world, check);
  }

  Scenario scenario;
  World world;
};

/// Adds a check of all findings to a script.
void expect_findings(Scenario& scenario, std::vector<std::string> wanted) {
  Check check;
  check.fact = Fact::findings;
  check.wanted = std::move(wanted);
  scenario.checks.push_back(check);
  Step step;
  step.kind = StepKind::expect;
  step.checks = {static_cast<std::uint32_t>(scenario.checks.size() - 1)};
  scenario.people[0].script.push_back(step);
}

}  // namespace

TEST_SUITE("facts") {
  TEST_CASE("a plate's facts in the words of the output") {
    const Hall hall;
    CHECK(hall.text(p1, Fact::mode) == "setup");
    CHECK(hall.text(p1, Fact::indicator) == "blink");
    CHECK(hall.text(p1, Fact::site) == "23");
    CHECK(hall.text(p1, Fact::zone) == "4");
    CHECK(hall.text(p1, Fact::channel) == "3");
    for (const Fact none : {Fact::address, Fact::level, Fact::load, Fact::power_up})
      CHECK(hall.text(p1, none) == "-");
  }

  TEST_CASE("a module's facts in the words of the output") {
    Hall hall;
    CHECK(hall.text(m1, Fact::mode) == "normal");
    CHECK(hall.text(m1, Fact::indicator) == "dark");
    CHECK(hall.text(m1, Fact::address) == "23/4/1");
    CHECK(hall.text(m1, Fact::site) == "23");
    CHECK(hall.text(m1, Fact::zone) == "4");
    CHECK(hall.text(m1, Fact::channel) == "1");
    CHECK(hall.text(m1, Fact::level) == "12.5 %");
    CHECK(hall.text(m1, Fact::load) == "12.5 %");
    CHECK(hall.text(m1, Fact::power_up) == "last");
    hall.world.modules[0].memory = factory_memory(hall.scenario.site.family.module);
    CHECK(hall.text(m1, Fact::address) == "none");
    CHECK(hall.text(m1, Fact::site) == "50");
  }

  TEST_CASE("a fact is what its text says, and nothing else") {
    const Hall hall;
    CHECK(hall.is(m1, Fact::address, "23/4/1"));
    CHECK_FALSE(hall.is(m1, Fact::address, "23/4/2"));
    CHECK_FALSE(hall.is(m1, Fact::address, "none"));
    CHECK(hall.is(p1, Fact::mode, "setup"));
    CHECK_FALSE(hall.is(p1, Fact::mode, "normal"));
    CHECK(hall.is(m1, Fact::level, "12.5 %"));
  }

  TEST_CASE("a load is lit at any level above none, and dark at none") {
    Hall hall;
    CHECK(hall.is(m1, Fact::load, "lit"));
    CHECK_FALSE(hall.is(m1, Fact::load, "dark"));
    hall.world.loads[0].from = hall.world.loads[0].to = 1;
    CHECK(hall.is(m1, Fact::load, "lit"));
    hall.world.loads[0].from = hall.world.loads[0].to = 0;
    CHECK(hall.is(m1, Fact::load, "dark"));
    CHECK_FALSE(hall.is(m1, Fact::load, "lit"));
  }
}

TEST_SUITE("run") {
  TEST_CASE("an expected set of findings is met by exactly that set") {
    const auto judged = [](std::vector<std::string> wanted) {
      Scenario scenario = small_scenario(1);
      Script{scenario}.hold("P1", set, 3s).press("P1", up).press("P1", accept);
      expect_findings(scenario, std::move(wanted));
      return run(scenario).checks.at(0);
    };
    CHECK(judged({"unaddressed", "assign-unheard"}).passed);
    CHECK(judged({"assign-unheard", "unaddressed"}).passed);
    CHECK_FALSE(judged({"assign-unheard"}).passed);
    CHECK_FALSE(judged({"assign-unheard", "unaddressed", "setup-split"}).passed);
    CHECK_FALSE(judged({}).passed);
    CHECK(judged({}).actual == "assign-unheard, unaddressed");
  }

  TEST_CASE("no findings are told as none, and expected as an empty set") {
    Scenario scenario = small_scenario(1);
    scenario.site.modules[0].intended.reset();
    expect_findings(scenario, {});
    const RunResult result = run(scenario);
    CHECK(result.checks.at(0).passed);
    CHECK(result.checks.at(0).actual == "none");
    CHECK(result.passed());
  }

  TEST_CASE("a check that fails fails the run, and says what was so instead") {
    Scenario scenario = small_scenario(1);
    Script{scenario}.press("M1").wait(1s).look("M1", Fact::load, "lit").look("M1", Fact::indicator, "blink");
    const RunResult result = run(scenario);
    REQUIRE(result.checks.size() == 2);
    CHECK_FALSE(result.checks[0].passed);  // it was lit at power-up, and the press switched it off
    CHECK(result.checks[0].actual == "0 %");
    CHECK(result.checks[0].at == sim::start_of_run + 1500ms);
    CHECK_FALSE(result.checks[1].passed);
    CHECK(result.checks[1].actual == "dark");
    CHECK_FALSE(result.passed());
  }
}
