#include "model/run/sweep.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "model/run/run.h"
#include "sim/statistics.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::tests;

model::Scenario install() {
  model::Scenario scenario = small_scenario(2);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.wait(5s);
  address(script, "P1", "M2", 2);
  return scenario;
}

TEST_CASE("clockwork people do what the script says, to the nanosecond") {
  const model::Scenario scenario = install();
  model::Sweeper sweeper{scenario, model::clockwork(), 1};
  std::vector<model::Slip> slips;
  const model::Scenario& varied = sweeper.scenario_of(5, slips);
  CHECK(slips.empty());
  CHECK(model::run(varied).digest == model::run(scenario).digest);
  const model::SweepPart part = sweeper.runs(0, 20);
  CHECK(part.runs == 20);
  CHECK(part.with_finding == 0);
}

TEST_CASE("the parts of a sweep add up to the whole, in any order and however it is cut") {
  const model::Scenario scenario = install();
  const model::SweepPart whole = model::Sweeper{scenario, {}, 7}.runs(0, 300);
  model::SweepPart sum;
  for (const std::uint64_t first : {200u, 0u, 100u})
    sum.add(model::Sweeper{scenario, {}, 7}.runs(first, 100));
  CHECK(sum == whole);
  CHECK(whole.with_slip > 0);
  CHECK(whole.with_slip < whole.runs);
  CHECK(model::Sweeper{scenario, {}, 8}.runs(0, 300) != whole);
}

TEST_CASE("a run that a sweep names has the finding that the sweep counted") {
  const model::Scenario scenario = install();
  model::Sweeper sweeper{scenario, {}, 3};
  const model::SweepPart part = sweeper.runs(0, 400);
  const auto unaddressed = static_cast<std::size_t>(model::FindingId::unaddressed);
  REQUIRE(part.hits[unaddressed] > 0);
  std::vector<model::Slip> slips;
  const std::uint64_t run = part.first_run[unaddressed];
  model::RunOptions options;
  options.seed = 3 + run;
  const model::RunResult result = model::run(sweeper.scenario_of(run, slips), options);
  const bool found =
      std::any_of(result.findings.begin(), result.findings.end(),
                  [](const model::Finding& finding) { return finding.id == model::FindingId::unaddressed; });
  CHECK(found);
  CHECK(!slips.empty());
  for (const model::Slip& slip : slips) CHECK(!describe(scenario, slip).empty());
}

TEST_CASE("steps are forgotten as often as the factor says") {
  const model::Scenario scenario = install();
  model::HumanFactors factors = model::clockwork();
  factors.omit_ppb = 100'000'000;
  model::Sweeper sweeper{scenario, factors, 11};
  std::vector<model::Slip> slips;
  std::uint64_t acts = 0, forgotten = 0;
  for (std::uint64_t run = 0; run < 2000; ++run) {
    sweeper.scenario_of(run, slips);
    forgotten += slips.size();
    for (const model::Step& step : scenario.people[0].script)
      acts += step.kind == model::StepKind::wait ? 0u : 1u;
  }
  // Four standard deviations: 1 in 16,000 by chance, and the seed is fixed.
  const sim::Interval interval = sim::wilson(forgotten, acts, 4);
  CHECK(interval.low < 0.1);
  CHECK(interval.high > 0.1);
}

}  // namespace
