#include "model/people/timetable.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/script_text.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;

/// When each step begins and, last, when all is done, in milliseconds.
std::vector<std::int64_t> begins_ms(const model::Scenario& scenario) {
  const model::Timetable table = model::timetable(scenario.site, scenario.times, scenario.people[0]);
  std::vector<std::int64_t> begins;
  const auto add = [&](sim::Instant at) { begins.push_back(at.time_since_epoch() / 1ms); };
  std::for_each(table.begins.begin(), table.begins.end(), add);
  add(table.ends);
  return begins;
}

TEST_CASE("actions are followed by a pause; waits, looks, faults and notes are not") {
  const auto loaded = must_read(scenario_with(
      "- press: P1 up\n- hold: P1 set\n  for: 2.5s\n- wait: 10s\n- see: {M1.load: dark}\n"
      "- fault: {open: P1-M1}\n- note: x\n- switches: {P1: {zone: 5}}\n- power: off\n- wait: 1s"));
  CHECK(begins_ms(loaded.scenario) ==
        std::vector<std::int64_t>{0, 500, 3300, 13'300, 13'300, 13'300, 13'300, 13'600, 13'900, 14'900});
}

TEST_CASE("people walk to what they touch, and only to that") {
  const auto loaded =
      must_read(scenario_with("- press: M2\n- power: {M1: off}\n- expect: {M1.mode: normal}\n- press: P1 "
                              "up\n- walk: attic\n- note: x"));
  // 40 s to the attic, 40 s back for the plate, 40 s again.
  CHECK(begins_ms(loaded.scenario) ==
        std::vector<std::int64_t>{0, 40'500, 40'800, 40'800, 81'300, 121'300, 121'300});
}

TEST_CASE("a step's time is waited for before its walk") {
  const auto loaded = must_read(scenario_with("- press: P1 up\n- press: M2\n  at: 1min\n- note: x"));
  CHECK(begins_ms(loaded.scenario) == std::vector<std::int64_t>{0, 60'000, 100'500, 100'500});
}

TEST_CASE("a late step is named with the moment at which it is reached") {
  auto loaded = must_read(scenario_with("- wait: 10s\n- press: P1 up"));
  auto& script = loaded.scenario.people[0].script;
  script[1].at = sim::start_of_run + 9s;
  const auto table = model::timetable(loaded.scenario.site, loaded.scenario.times, loaded.scenario.people[0]);
  REQUIRE(table.late.size() == 1);
  CHECK(table.late[0].step == 1);
  CHECK(table.late[0].reached == sim::start_of_run + 10s);
  CHECK(table.begins[1] == sim::start_of_run + 10s);
}

TEST_CASE("nothing runs beyond ten years") {
  auto loaded = must_read(scenario_with("- wait: 1s"));
  auto& script = loaded.scenario.people[0].script;
  script[0].duration = model::longest_run;
  script.resize(300, script[0]);
  const auto table = model::timetable(loaded.scenario.site, loaded.scenario.times, loaded.scenario.people[0]);
  CHECK(table.ends == sim::start_of_run + model::longest_run);
}

TEST_CASE("the first place is that of the first step that has one") {
  const auto loaded = must_read(scenario_with("- wait: 1s\n- press: M2\n- press: P1 up"));
  CHECK(model::first_place(loaded.scenario.site, loaded.scenario.people[0].script) == 1);
  CHECK(model::first_place(loaded.scenario.site, {}) == 0);
}

TEST_CASE("every shipped script takes as long as its timetable says") {
  for (const std::string& path : shipped_scenarios()) {
    CAPTURE(path);
    const auto reading = tools::read_scenario(path);
    REQUIRE(reading.ok());
    const model::Scenario& scenario = reading.value().scenario;
    std::vector<std::vector<sim::Instant>> begun(scenario.people.size());
    const model::RunResult result = model::run(scenario);
    for (sim::EntryId id = 1; id <= result.record.size(); ++id) {
      const sim::Entry& entry = result.record[id];
      if (model::what(entry) == model::What::step) begun[entry.who].push_back(entry.at);
    }
    for (std::size_t person = 0; person < scenario.people.size(); ++person) {
      const auto table = model::timetable(scenario.site, scenario.times, scenario.people[person]);
      CHECK(table.begins == begun[person]);
    }
  }
}

}  // namespace
