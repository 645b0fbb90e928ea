#include "model/hunt/shrink.h"

#include <doctest/doctest.h>

#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;

namespace {

FailureReason reason_for(const Scenario& scenario, std::optional<FindingId> finding = {}) {
  const auto reason = reason_to_fail(scenario, finding);
  REQUIRE(reason);
  return *reason;
}

/// A long day of which little matters: the module is given up on a moment before it gives up itself.
Scenario long_story() {
  Scenario scenario = small_scenario(3, 2);
  Script script{scenario};
  script.press("P2", accept).wait(20s);
  script.hold("P1", set, 2700ms);
  address(script, "P2", "M3", 1);
  script.hold("M1", 0, 3700ms).wait(120s).press("P2", up).press("P1", up).wait(20s);
  script.look("M1", Fact::mode, "normal");
  script.look("M2", Fact::mode, "normal");
  return scenario;
}

Scenario without_step(const Scenario& scenario, const StepRef& step) {
  Scenario less = scenario;
  auto& script = less.people[step.person].script;
  script.erase(script.begin() + step.step);
  return less;
}

void check_each_step_is_needed(const Shrunk& shrunk, const FailureReason& reason) {
  REQUIRE(fails_by(shrunk.scenario, reason));
  for (std::uint32_t person = 0; person < shrunk.scenario.people.size(); ++person) {
    const auto& script = shrunk.scenario.people[person].script;
    for (std::uint32_t step = 0; step < script.size(); ++step) {
      CAPTURE(step);
      CHECK_FALSE(fails_by(without_step(shrunk.scenario, {person, step}), reason));
    }
  }
}

/// Both ends fail, and one step of the resolution beyond either does not.
void check_ends(const Shrunk& shrunk, const FreeTime& free, const FailureReason& reason) {
  CHECK(fails_by(with_time(shrunk.scenario, free, free.least), reason));
  CHECK(fails_by(with_time(shrunk.scenario, free, free.greatest), reason));
  if (free.least - shrink_resolution > 0s) {
    CHECK_FALSE(fails_by(with_time(shrunk.scenario, free, free.least - shrink_resolution), reason));
  }
  if (!free.open_ended) {
    CHECK_FALSE(fails_by(with_time(shrunk.scenario, free, free.greatest + shrink_resolution), reason));
  }
}

}  // namespace

TEST_SUITE("shrink") {
  TEST_CASE("a failing check keeps the step that makes it fail, and nothing else") {
    const Scenario scenario = long_story();
    const FailureReason reason = reason_for(scenario);
    CHECK(to_string(reason) == "M1.mode is not normal but setup");
    const Shrunk shrunk = shrink(scenario, reason);
    REQUIRE(shrunk.scenario.people[0].script.size() == 2);
    CHECK(shrunk.scenario.people[0].script[0].kind == StepKind::hold);
    CHECK(shrunk.scenario.site.device_count() == 1);
    CHECK(shrunk.removed_devices.size() == 4);
    CHECK(shrunk.scenario.checks.size() == 1);
    CHECK(shrunk.removed.size() + shrunk.kept.size() == scenario.people[0].script.size());
    check_each_step_is_needed(shrunk, reason);
  }

  TEST_CASE("a finding keeps its id and its device, and no step of it can go") {
    Scenario scenario = small_scenario(3, 2);
    Script script{scenario};
    script.press("P1", off);
    script.hold("P1", set, 2700ms).wait(160s).hold("M1", 0, 3700ms).press("P2", off).wait(400s);
    const FailureReason reason = reason_for(scenario, FindingId::setup_split);
    const Shrunk shrunk = shrink(scenario, reason);
    CHECK(shrunk.scenario.people[0].script.size() < scenario.people[0].script.size());
    check_each_step_is_needed(shrunk, reason);
    REQUIRE_FALSE(shrunk.shorter.empty());
    CHECK(shrunk.shorter.back().after < shrunk.shorter.back().before);
  }

  TEST_CASE("free times fail from end to end, and not beyond") {
    Scenario scenario = small_scenario(2);
    Script script{scenario};
    // The module's time-out of 150 s runs from 3.5 s on: looked at after 153.5 s, it would be in order.
    script.hold("M1", 0, 3700ms).wait(100s).look("M1", Fact::mode, "normal");
    script.hold("P1", set, 2700ms).wait(150s).press("P1", up).look("M1", Fact::address, "none");
    script.look("P1", Fact::channel, "2");
    const FailureReason mode = reason_for(scenario);
    const Shrunk shrunk = shrink(scenario, mode);
    REQUIRE_FALSE(shrunk.free.empty());
    for (const FreeTime& free : shrunk.free) check_ends(shrunk, free, mode);
    // In setup once the button was down for 3.5 s; the pause after the press is 0.3 s, and at 153.5 s it is over.
    CHECK(shrunk.free[0].least == 3500ms);
    CHECK(shrunk.free[0].greatest == 153100ms);
  }

  TEST_CASE("a wait that has to last says from when to when") {
    Scenario scenario = small_scenario(1);
    Script script{scenario};
    script.hold("P1", set, 2700ms).hold("M1", 0, 3700ms).wait(151s);
    const FailureReason reason = reason_for(scenario, FindingId::setup_split);
    const Shrunk shrunk = shrink(scenario, reason);
    bool waited = false;
    for (const FreeTime& free : shrunk.free) {
      check_ends(shrunk, free, reason);
      waited = waited || free.kind == FreeTime::Kind::wait;
      if (free.kind == FreeTime::Kind::wait) CHECK(free.least == free.now);
    }
    CHECK(waited);
  }

  TEST_CASE("hours are dropped where they do not matter, and idle people go home") {
    Scenario scenario = small_scenario(2);
    scenario.people.push_back({"colleague", 0, {}});
    Script{scenario, 1}.at(7s).power("M2", false);
    Script{scenario}.at(60s).hold("M1", 0, 3700ms).look("M1", Fact::mode, "normal");
    const FailureReason reason = reason_for(scenario);
    const Shrunk shrunk = shrink(scenario, reason);
    CHECK(shrunk.scenario.people.size() == 1);
    CHECK_FALSE(shrunk.scenario.people[0].script[0].at);
  }

  TEST_CASE("places where nothing is left go, and what leads between the others takes as long as before") {
    Scenario scenario = small_scenario(2);
    Site& site = scenario.site;
    site.places = {{"attic"}, {"hall"}, {"cellar"}, {"porch"}};
    site.walks = shortest_walks(4, {{0, 1, 40s}, {1, 2, 25s}, {2, 3, 10s}}, 20s);
    site.plates[0].place = 1;
    site.modules[0].place = 3;
    site.modules[1].place = 2;
    scenario.people[0].place = 0;
    Script script{scenario};
    script.walk(1).hold("P1", set, 2700ms).press("P1", up).hold("M1", 0, 3700ms);
    script.look("M1", Fact::mode, "normal");
    scenario.checks.back().seen = false;
    scenario.people[0].script.back().kind = StepKind::expect;
    const FailureReason reason = reason_for(scenario);
    const Shrunk shrunk = shrink(scenario, reason);
    CHECK(fails_by(shrunk.scenario, reason));
    REQUIRE(shrunk.kept_places == std::vector<PlaceId>{0, 3});
    CHECK(shrunk.scenario.site.places[0].name == "attic");
    CHECK(shrunk.scenario.site.places[1].name == "porch");
    CHECK(shrunk.scenario.site.walk(0, 1) == 75s);
  }

  TEST_CASE("a device on the line is bridged over, and a fault of another link stays where it was") {
    Scenario scenario = small_scenario(4);
    Fault open;
    open.kind = FaultKind::open;
    open.link = 3;  // M3-M4
    Script{scenario}.fault(open);
    CHECK(scenario.site.link_name(3) == "M3-M4");
    const auto rest = without_device(scenario, scenario.site.module_id(0));
    REQUIRE(rest);
    REQUIRE(rest->site.network.links.size() == 3);
    CHECK(rest->site.link_name(0) == "P1-M2");
    CHECK(rest->site.link_name(rest->people[0].script[0].fault.link) == "M3-M4");
    CHECK_FALSE(without_device(scenario, scenario.site.module_id(3)));
    CHECK(rest->site.network.nodes[1].owner == scenario.site.network.nodes[2].owner);
  }

  TEST_CASE("how it came about is kept, not only what failed") {
    // In normal mode because its time-out ran out, long after; that it was pressed out of setup later would look the same.
    Scenario scenario = small_scenario(1);
    Script script{scenario};
    script.hold("M1", 0, 3700ms).wait(200s).hold("M1", 0, 3700ms).press("M1");
    script.look("M1", Fact::mode, "setup");
    const FailureReason pressed = reason_for(scenario);
    Scenario timed_out = small_scenario(1);
    Script{timed_out}.hold("M1", 0, 3700ms).wait(200s).look("M1", Fact::mode, "setup");
    CHECK(reason_for(timed_out).actual == pressed.actual);
    CHECK_FALSE(fails_by(timed_out, pressed));
    const Shrunk shrunk = shrink(scenario, pressed);
    CHECK(fails_by(shrunk.scenario, pressed));
    CHECK(shrunk.scenario.people[0].script.back().kind == StepKind::see);
    CHECK(shrunk.scenario.people[0].script[shrunk.scenario.people[0].script.size() - 2].kind ==
          StepKind::press);
  }

  TEST_CASE("no check fails in the smallest scenario that passed before") {
    Scenario scenario = small_scenario(2);
    Script script{scenario};
    script.hold("M1", 0, 3700ms).look("M1", Fact::mode, "normal");
    script.hold("M2", 0, 3700ms).look("M2", Fact::mode, "setup");
    const FailureReason reason = reason_for(scenario);
    const Shrunk shrunk = shrink(scenario, reason);
    const auto failing = failing_by(shrunk.scenario, reason);
    REQUIRE(failing);
    CHECK(failing->size() == 1);
    CHECK(*failing == *failing_by(scenario, reason));
  }

  TEST_CASE("what does not fail has no reason to") {
    Scenario scenario = small_scenario(1);
    Script{scenario}.look("M1", Fact::mode, "normal");
    CHECK_FALSE(reason_to_fail(scenario, std::nullopt));
    CHECK_FALSE(reason_to_fail(scenario, FindingId::shared_address));
  }
}
