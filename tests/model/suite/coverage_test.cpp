#include "model/suite/coverage.h"

#include <doctest/doctest.h>

#include <string>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;

namespace {

Coverage covered(const Scenario& scenario) {
  Coverage coverage;
  coverage.take_family(scenario.site.family);
  RunOptions options;
  options.logic = &coverage;
  run(scenario, options);
  return coverage;
}

const FamilyVisits& visits_in(const Coverage& coverage) { return coverage.families().at(test_family().name); }

/// How often rows of this event were taken in this state; `any_state` for those of any.
std::uint64_t taken(const MachineVisits& visits, StateIndex in, Event on) {
  std::uint64_t sum = 0;
  for (std::size_t i = 0; i < visits.rows.size(); ++i) {
    const MachineRow& row = visits.machine.rows[i];
    if (row.in == in && row.on == on) sum += visits.rows[i];
  }
  return sum;
}

constexpr StateIndex normal = 0;
constexpr StateIndex setup = 1;

}  // namespace

TEST_SUITE("coverage") {
  TEST_CASE("an install takes the rows that it should, as often as it should") {
    Scenario scenario = small_scenario(2);
    Script script{scenario};
    address(script, "P1", "M1", 1);
    address(script, "P1", "M2", 2);
    const Coverage coverage = covered(scenario);
    const auto& [plate, module] = visits_in(coverage);
    CHECK(taken(module, normal, Event::gesture) == 2);
    CHECK(taken(module, setup, Event::heard_assign) == 2);
    CHECK(taken(module, setup, Event::time_out) == 0);
    CHECK(taken(plate, setup, Event::assign) == 2);
    CHECK(plate.states[setup] > 0);
    CHECK(module.patterns[Pattern::blink] > 0);
    CHECK(module.timers[Timer::store] == 2);
  }

  TEST_CASE("what no row can bring about is no hole") {
    const Coverage coverage = covered(small_scenario(1));
    const auto& [plate, module] = visits_in(coverage);
    CHECK_FALSE(plate.can_show[Pattern::breathe]);
    CHECK_FALSE(plate.can_run[Timer::store]);
    CHECK_FALSE(module.can_run[Timer::ask]);
    CHECK(module.can_run[Timer::hold]);
    CHECK(module.can_show[Pattern::steady]);
  }

  TEST_CASE("a pattern without a place in the order is not waited for") {
    Family family = test_family();
    std::erase(family.module.machine.order, Pattern::breathe);
    family.module.machine.compile();
    CHECK_FALSE(MachineVisits(family, DeviceKind::module).can_show[Pattern::breathe]);
    CHECK(MachineVisits(test_family(), DeviceKind::module).can_show[Pattern::breathe]);
  }

  TEST_CASE("holes are the rows, states, patterns and times that nothing came to") {
    Scenario scenario = small_scenario(1);
    const std::size_t before = covered(scenario).holes();
    Script{scenario}.hold("M1", 0, 3200ms);
    const Coverage after = covered(scenario);
    // Setup is entered now: a row, a state and the hold's time at the least.
    CHECK(after.holes() <= before - 3);
    CHECK(after.holes() > 0);
  }

  TEST_CASE("devices of families that nobody asked for are not counted") {
    Scenario scenario = small_scenario(1);
    Coverage coverage;
    RunOptions options;
    options.logic = &coverage;
    run(scenario, options);
    CHECK(coverage.families().empty());
  }

  TEST_CASE("counts of parts add up to the whole") {
    Scenario scenario = small_scenario(1);
    Script{scenario}.press("P1", one).wait(2s);
    Coverage twice = covered(scenario);
    twice.add(covered(scenario));
    const Coverage once = covered(scenario);
    const MachineVisits& sum = visits_in(twice).plate;
    const MachineVisits& part = visits_in(once).plate;
    REQUIRE(sum.rows.size() == part.rows.size());
    for (std::size_t i = 0; i < part.rows.size(); ++i) CHECK(sum.rows[i] == 2 * part.rows[i]);
    CHECK(sum.states[0] == 2 * part.states[0]);
    CHECK(sum.timers[Timer::debounce] == 2 * part.timers[Timer::debounce]);
  }
}
