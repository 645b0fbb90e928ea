// What a run gives to draw, before anybody draws it.
#include "tools/timeline/timeline.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "model/run/run.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using tools::DeviceMark;
using tools::Hearing;
using tools::Timeline;

Timeline timeline_of(const model::Scenario& scenario) {
  return tools::read_timeline(scenario, model::run(scenario), scenario.seed);
}

sim::Instant at(sim::Duration after) {
  return sim::start_of_run + after;
}

TEST_CASE("a time-out is a band that runs out: full at entry, half at half time, nothing at its end") {
  auto scenario = small_scenario(1);
  Script{scenario}.hold("M1", 0, 4s).wait(300s);
  const auto lane = timeline_of(scenario).devices[1];
  REQUIRE(lane.setups.size() == 1);
  const tools::SetupBand& band = lane.setups.front();
  CHECK(band.from == at(3500ms));
  CHECK(band.to == at(153500ms));
  CHECK(band.ended_by == model::ModeReason::time_out);
  CHECK(band.time_out == 150s);
  CHECK(tools::time_left(band, at(3500ms)) == doctest::Approx(1));
  CHECK(tools::time_left(band, at(78500ms)) == doctest::Approx(0.5));
  CHECK(tools::time_left(band, at(153500ms)) == 0);
}

TEST_CASE("a time-out that counts from the last press begins anew with every press") {
  auto scenario = small_scenario(1);
  Script{scenario}.hold("P1", set, 3s).at(122500ms).press("P1", up).wait(10s);
  const auto band = timeline_of(scenario).devices[0].setups.front();
  REQUIRE(band.restarts.size() == 2);
  CHECK(tools::time_left(band, at(122500ms) - 1ms) == doctest::Approx(0.5).epsilon(0.001));
  CHECK(tools::time_left(band, at(122500ms)) == doctest::Approx(1));
  CHECK(!band.ended_by);
}

TEST_CASE("an assign is taken by who is in setup, ignored by who was, and only heard by who never was") {
  auto scenario = small_scenario(3);
  Script script{scenario};
  script.hold("M1", 0, 4s).at(150s).hold("P1", set, 3s).hold("M2", 0, 4s);
  script.at(200s).press("P1", up).press("P1", accept).wait(1s);
  const Timeline timeline = timeline_of(scenario);
  const auto assign = std::find_if(timeline.telegrams.begin(), timeline.telegrams.end(), [](const auto& t) {
    return t.telegram.kind == model::TelegramKind::assign;
  });
  REQUIRE(assign != timeline.telegrams.end());
  REQUIRE(assign->receptions.size() == 3);
  CHECK(assign->receptions[0].hearing == Hearing::ignored);
  CHECK(assign->receptions[1].hearing == Hearing::took);
  CHECK(assign->receptions[2].hearing == Hearing::heard);
  CHECK(tools::held_at(timeline.devices[2], at(200s)) == "no address");
  CHECK(tools::held_at(timeline.devices[2], timeline.end) == "23/4/1");
  const auto& marks = timeline.devices[1].marks;
  CHECK(std::any_of(marks.begin(), marks.end(),
                    [](const auto& m) { return m.kind == DeviceMark::Kind::ignored; }));
}

TEST_CASE("a telegram that an open link stops is lost to those beyond it, with the reason") {
  auto scenario = small_scenario(2);
  model::Fault open;
  open.kind = model::FaultKind::open;
  open.link = 1;  // M1-M2
  Script{scenario}.fault(open).press("P1", up).wait(1s);
  const Timeline timeline = timeline_of(scenario);
  REQUIRE(timeline.links.size() == 1);
  CHECK(timeline.links.front().text == "M1-M2 open");
  const auto& on = timeline.telegrams.front();
  CHECK(on.lost_by_somebody());
  CHECK(!on.collided());
  REQUIRE(on.receptions.size() == 2);
  CHECK(on.receptions[0].hearing != Hearing::lost);
  CHECK(on.receptions[1].hearing == Hearing::lost);
  CHECK(on.receptions[1].loss == sim::Loss::no_path);
}

TEST_CASE("buttons pressed together are one press, and so is one that bounces") {
  auto scenario = small_scenario(1);
  Script{scenario}.press("P1", up).press("P1", down);
  auto& steps = scenario.people.front().script;
  steps[0].buttons = static_cast<model::Buttons>(model::only(up) | model::only(down));
  steps[1].bounce = 10ms;
  const auto presses = timeline_of(scenario).devices[0].presses;
  REQUIRE(presses.size() == 2);
  CHECK(presses[0].text == "up+down");
  CHECK(presses[1].text == "down");
  CHECK(presses[1].up - presses[1].down == 200ms);
}

TEST_CASE("a device is in sight while the installer stands in its place, and not on the way") {
  auto scenario = small_scenario(1);
  scenario.site.places = {{"hall"}, {"attic"}};
  scenario.site.walks = model::shortest_walks(2, {{0, 1, 40s}}, 40s);
  Script{scenario}.wait(10s).walk(1).wait(5s).walk(0).wait(1s);
  const Timeline timeline = timeline_of(scenario);
  const std::vector<tools::Stretch> sights = timeline.devices[1].in_sight;
  REQUIRE(sights.size() == 2);
  CHECK(sights[0].to - sights[0].from == 10s);
  CHECK(sights[1].from - sights[0].to >= 85s);
  REQUIRE(timeline.people.front().walks.size() == 2);
  CHECK(timeline.people.front().walks.front().to - timeline.people.front().walks.front().from == 40s);
}

TEST_CASE("a power cut is a band, and lamps and loads go dark in it") {
  auto scenario = small_scenario(1);
  Script{scenario}.wait(5s).power("M1", false).wait(10s).power("M1", true).wait(5s);
  const auto lane = timeline_of(scenario).devices[1];
  REQUIRE(lane.cuts.size() == 1);
  CHECK(lane.cuts.front().from == at(5s));
  const auto dark =
      std::find_if(lane.levels.begin(), lane.levels.end(), [&](const auto& p) { return p.at >= at(6s); });
  REQUIRE(dark != lane.levels.end());
  CHECK(std::prev(dark)->level == 0);
}

TEST_CASE("lamps follow each other without gaps from the beginning to the end") {
  auto scenario = small_scenario(2);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.wait(60s);
  const Timeline timeline = timeline_of(scenario);
  for (const auto& lane : timeline.devices) {
    REQUIRE(!lane.lamps.empty());
    CHECK(lane.lamps.front().from == sim::start_of_run);
    CHECK(lane.lamps.back().to == timeline.end);
    for (std::size_t i = 1; i < lane.lamps.size(); ++i) CHECK(lane.lamps[i - 1].to == lane.lamps[i].from);
  }
}

TEST_CASE("a plate tells how its switches are set, and a module its power-up mode, at any moment") {
  auto scenario = small_scenario(1);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.wait(5s).switches("P1", 23, 9).wait(5s);
  const Timeline timeline = timeline_of(scenario);
  const auto& plate = timeline.devices[0];
  const auto& module = timeline.devices[1];
  CHECK(tools::set_to_at(plate, at(0s)) == "site 23, zone 4");
  CHECK(tools::set_to_at(plate, timeline.end) == "site 23, zone 9");
  CHECK(tools::set_to_at(module, timeline.end).empty());
  CHECK(tools::power_up_at(module, at(0s)) == "powers up full");
  // Its site number has changed: an address that comes from another site sets it to off.
  CHECK(tools::power_up_at(module, timeline.end) == "powers up off");
  CHECK(module.family.empty());  // there is only one generation on site
}

TEST_CASE("devices of several generations say of which they are") {
  auto scenario = small_scenario(2);
  scenario.site.other_families.push_back(scenario.site.family);
  scenario.site.other_families.back().name = "a later one";
  scenario.site.modules[1].family = 1;
  Script{scenario}.wait(1s);
  const Timeline timeline = timeline_of(scenario);
  CHECK(timeline.devices[1].family == scenario.site.family.name);
  CHECK(timeline.devices[2].family == "a later one");
}

TEST_CASE("clock times in a text are moments of the record; lengths and addresses are none") {
  auto scenario = small_scenario(1);
  Script{scenario}.hold("P1", set, 3s).wait(240s);
  const model::RunResult result = model::run(scenario);
  const auto named = [&](std::string_view text) { return tools::named_moments(result.record, text); };
  // Setup is entered after 2.5 s, and left 240 s after the last press, which was at 0:00.0.
  REQUIRE(named("At 0:02.5 P1 entered setup.").size() == 1);
  CHECK(named("At 0:02.5 P1 entered setup.").front() == at(2500ms));
  CHECK(named("from 0:00.0 to 0:02.5").size() == 2);
  CHECK(named("at 0:00:02.5").size() == 1);
  CHECK(named("it took 2.5 s, and 23/4/1 was offered").empty());
  CHECK(named("at 0:01.1 nothing happened").empty());
  CHECK(named("at 10:02.55 and 1:2.5 and 99:99.9").empty());
}

TEST_CASE(
    "what could be seen on site has no mode, address, telegram or finding in it, and lamps only where they "
    "show") {
  auto scenario = small_scenario(2);
  scenario.site.places = {{"hall"}, {"attic"}};
  scenario.site.walks = model::shortest_walks(2, {{0, 1, 40s}}, 40s);
  scenario.site.modules[1].place = 1;
  Script script{scenario};
  script.hold("M2", 0, 4s).wait(200s).walk(0).wait(2s).press("P1", up).wait(2s);
  const Timeline all = timeline_of(scenario);
  const Timeline seen = tools::seen_on_site(all);
  REQUIRE(!all.findings.empty());
  CHECK(seen.only_seen);
  CHECK((seen.findings.empty() && seen.telegrams.empty() && seen.named.empty() && seen.about.empty()));
  CHECK(seen.title != all.title);
  for (const auto& lane : seen.devices) {
    CHECK((lane.setups.empty() && lane.held.empty() && lane.power_up.empty() && lane.set_to.empty()));
    for (const auto& lamp : lane.lamps) {
      CHECK(std::any_of(lane.in_sight.begin(), lane.in_sight.end(),
                        [&](const auto& sight) { return sight.from <= lamp.from && lamp.to <= sight.to; }));
    }
    for (const auto& point : lane.levels) {
      CHECK(std::any_of(lane.in_sight.begin(), lane.in_sight.end(),
                        [&](const auto& sight) { return sight.from <= point.at && point.at <= sight.to; }));
    }
  }
  // The installer stood before M2 when it began to blink and when it gave up; that is what the lamp shows.
  const auto blinks = [](const tools::LampBand& lamp) { return lamp.pattern == model::Pattern::blink; };
  CHECK(std::any_of(seen.devices[2].lamps.begin(), seen.devices[2].lamps.end(), blinks));
  CHECK(seen.devices[0].presses.size() == all.devices[0].presses.size());
}

TEST_CASE("up to an entry: what was begun goes on, and what begins at the same moment is not there") {
  auto scenario = small_scenario(1);
  Script{scenario}.press("P1", up).wait(2s).press("P1", down).press("P1", up).wait(1s);
  const model::RunResult result = model::run(scenario);
  const Timeline all = tools::read_timeline(scenario, result, scenario.seed);
  REQUIRE(all.devices[0].presses.size() == 3);
  const tools::PressBand& second = all.devices[0].presses[1];
  const Timeline before = tools::up_to(all, result.record, second.entry - 1);
  CHECK(before.end == result.record[second.entry - 1].at);
  CHECK(before.devices[0].presses.size() == 1);
  const Timeline during = tools::up_to(all, result.record, second.entry);
  REQUIRE(during.devices[0].presses.size() == 2);
  CHECK(!during.devices[0].presses.back().released);
  CHECK(during.devices[0].presses.back().up == during.end);
}

}  // namespace
