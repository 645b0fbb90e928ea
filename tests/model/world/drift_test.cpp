// Two clocks that are not quite the same: beacons begun together meet on the bus, and then no more.
#include <doctest/doctest.h>

#include <algorithm>
#include <vector>

#include "model/run/run.h"
#include "sim/clock.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

/// Two plates whose setup begins at the same moment and lasts for three minutes.
Scenario both_at_once(std::uint32_t tolerance_ppb) {
  Family family = test_family();
  family.clock_tolerance_ppb = tolerance_ppb;
  Scenario scenario = small_scenario(1, 2, family);
  scenario.people.push_back({"colleague", 0, {}});
  Script{scenario}.hold("P1", set, 3s).wait(180s);
  Script{scenario, 1}.hold("P2", set, 3s);
  return scenario;
}

std::vector<sim::Instant> collisions(const RunResult& result) {
  std::vector<sim::Instant> found;
  for (const sim::Entry& entry : result.record.entries()) {
    if (what(entry) == What::lost && entry.who == 2) found.push_back(entry.at);
  }
  return found;
}

std::vector<sim::Instant> beacons_of(const RunResult& result, DeviceId plate) {
  std::vector<sim::Instant> found;
  for (const sim::Entry& entry : result.record.entries()) {
    if (what(entry) == What::timer && entry.who == plate && static_cast<Timer>(entry.a) == Timer::beacon)
      found.push_back(entry.at);
  }
  return found;
}

}  // namespace

TEST_SUITE("drift") {
  TEST_CASE("with clocks that keep the same time beacons begun together collide for ever") {
    const RunResult result = run(both_at_once(0));
    CHECK(collisions(result).size() == 2 * 37);  // the first, and one every 5 s, each for both senders
  }

  TEST_CASE("quartz clocks drift apart, and the beacons with them") {
    std::size_t apart = 0;
    for (std::uint64_t seed = 1; seed <= 8; ++seed) {
      Scenario scenario = both_at_once(sim::quartz_tolerance_ppb);
      scenario.seed = seed;
      const RunResult result = run(scenario);
      const std::vector<sim::Instant> met = collisions(result);
      REQUIRE(!met.empty());  // the first ones
      if (met.back() < sim::start_of_run + 120s) ++apart;
    }
    CHECK(apart >= 7);  // clocks that happen to be nearly the same need longer
  }

  TEST_CASE("the nth beacon is off by n times the same part, and a time-out is to the moment") {
    Scenario scenario = both_at_once(sim::quartz_tolerance_ppb);
    Script{scenario}.wait(100s);
    const RunResult result = run(scenario);
    for (const DeviceId plate : {DeviceId{0}, DeviceId{1}}) {
      const std::uint32_t owner = scenario.site.network.nodes[plate].owner;
      const std::int64_t drift = sim::clock_drift_ppb(scenario.seed, owner, sim::quartz_tolerance_ppb);
      const std::vector<sim::Instant> beacons = beacons_of(result, plate);
      REQUIRE(beacons.size() > 40);
      for (std::size_t n = 0; n < beacons.size(); ++n) {
        const auto times = static_cast<std::int64_t>(n + 1);
        CHECK(beacons[n] == sim::start_of_run + 2500ms + times * (5s + sim::Duration{drift * 5}));
      }
    }
    const auto& entries = result.record.entries();
    const auto left = std::find_if(entries.begin(), entries.end(), [](const sim::Entry& entry) {
      return what(entry) == What::mode && static_cast<Mode>(entry.a) == Mode::normal;
    });
    REQUIRE(left != entries.end());
    CHECK(left->at == sim::start_of_run + 2500ms + test_family().plate.time_out.after);
  }

  TEST_CASE("the drift is the seed's: the same run again is the same run, another seed another one") {
    Scenario scenario = both_at_once(sim::quartz_tolerance_ppb);
    const RunResult once = run(scenario);
    CHECK(run(scenario).digest == once.digest);
    scenario.seed = 2;
    CHECK(beacons_of(run(scenario), 0) != beacons_of(once, 0));
  }
}
