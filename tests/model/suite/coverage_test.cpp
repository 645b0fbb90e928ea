#include "model/suite/coverage.h"

#include <doctest/doctest.h>

#include <random>
#include <set>
#include <string>
#include <utility>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;

namespace {

template <class State>
std::uint64_t visits_of(std::span<const Edge<State>> edges, const Visits& visits, std::string_view from,
                        std::string_view by) {
  for (std::size_t i = 0; i < edges.size(); ++i) {
    if (edges[i].from == from && edges[i].by == by) return visits.edges[i];
  }
  FAIL("no edge: " << std::string{by});
  return 0;
}

Coverage covered(const Scenario& scenario) {
  Coverage coverage;
  coverage.take_family(scenario.site.family);
  RunOptions options;
  options.logic = &coverage;
  run(scenario, options);
  return coverage;
}

/// What an edge says of modes is what happened. An edge from any mode says nothing of them: an assign makes a
/// module blip, too.
template <class State>
bool fits(const Edge<State>& edge, Mode before, Mode after) {
  const auto is = [](std::string_view word, Mode mode) {
    return word == (mode == Mode::setup ? "setup" : "normal");
  };
  if (edge.from != "any" && !is(edge.from, before)) return false;
  return edge.to == "same" || is(edge.to, after);
}

}  // namespace

TEST_SUITE("coverage") {
  TEST_CASE("an install takes the edges that it should, as often as it should") {
    Scenario scenario = small_scenario(2);
    Script script{scenario};
    address(script, "P1", "M1", 1);
    address(script, "P1", "M2", 2);
    const Coverage coverage = covered(scenario);
    CHECK(visits_of(module_edges(), coverage.modules(), "normal", "local button held") == 2);
    CHECK(visits_of(module_edges(), coverage.modules(), "setup", "assign, another site") == 2);
    CHECK(visits_of(module_edges(), coverage.modules(), "setup", "time-out") == 0);
    CHECK(visits_of(plate_edges(), coverage.plates(), "setup", "assign") == 2);
  }

  TEST_CASE("a power cut is an edge, too") {
    Scenario scenario = small_scenario(1);
    Script{scenario}.hold("M1", 0, 3700ms).power("M1", false);
    CHECK(visits_of(module_edges(), covered(scenario).modules(), "setup", "power cut") == 1);
  }

  TEST_CASE("what no button is bound to cannot be left out") {
    const Coverage coverage = covered(small_scenario(1));
    for (std::size_t i = 0; i < plate_edges().size(); ++i) {
      if (plate_edges()[i].by == "hold bound to off") CHECK_FALSE(coverage.plates().possible[i]);
      if (plate_edges()[i].by == "hold bound to raise") CHECK(coverage.plates().possible[i]);
    }
  }

  TEST_CASE("no two edges of a table are the same") {
    std::set<std::pair<std::string_view, std::string_view>> plates;
    for (const auto& edge : plate_edges()) CHECK(plates.emplace(edge.from, edge.by).second);
    std::set<std::pair<std::string_view, std::string_view>> modules;
    for (const auto& edge : module_edges()) CHECK(modules.emplace(edge.from, edge.by).second);
  }

  TEST_CASE("counts of parts add up to the whole") {
    Scenario scenario = small_scenario(1);
    Script{scenario}.press("P1", one).wait(2s);
    Coverage twice = covered(scenario);
    twice.add(covered(scenario));
    const Coverage once = covered(scenario);
    for (std::size_t i = 0; i < plate_edges().size(); ++i) {
      CHECK(twice.plates().edges[i] == 2 * once.plates().edges[i]);
    }
  }

  TEST_CASE(
      "whatever a module does in a random walk is an edge of its table, and every edge keeps to its modes") {
    for (const std::uint64_t seed : drybus::test::seeds(20)) {
      INFO(drybus::test::replay(seed, "whatever a module does*"));
      std::mt19937_64 draws{seed};
      Family family = test_family();
      family.module.factory_site = 1;  // among the numbers that are drawn
      ModuleState state;
      state.memory = factory_memory(family.module);
      for (int step = 0; step < 5000; ++step) {
        Stimulus stimulus;
        stimulus.kind = static_cast<Stimulus::Kind>(draws() % 4);
        if (stimulus.kind == Stimulus::Kind::power_on && draws() % 20 != 0)
          stimulus.kind = Stimulus::Kind::telegram;
        stimulus.timer = module_timers()[draws() % module_timers().size()];
        // Those that a flag stands for run only while it is set.
        if (stimulus.timer == Timer::time_out && state.mode != Mode::setup) continue;
        if (stimulus.timer == Timer::hold && (state.down == 0 || state.mode == Mode::setup)) continue;
        if (stimulus.timer == Timer::store && state.storing == 0) continue;
        stimulus.contacts = static_cast<Buttons>(draws() % 2);
        stimulus.telegram = {static_cast<TelegramKind>(1 + draws() % last_telegram_kind),
                             static_cast<std::uint8_t>(1 + draws() % 2),
                             static_cast<std::uint8_t>(draws() % 3), static_cast<std::uint8_t>(draws() % 3),
                             static_cast<std::uint8_t>(1 + draws() % 4)};
        const ModuleState before = state;
        Effects effects;
        react(family, stimulus, state, effects);
        const Transition<ModuleState> transition{family, &stimulus, before, state, effects};
        bool on_the_chart = state == before && effects.size() == 0;
        for (const auto& edge : module_edges()) {
          if (!edge.taken(transition)) continue;
          CAPTURE(edge.by);
          CHECK(
              fits(edge, stimulus.kind == Stimulus::Kind::power_on ? Mode::normal : before.mode, state.mode));
          on_the_chart = true;
        }
        CAPTURE(step);
        REQUIRE(on_the_chart);
      }
    }
  }
}
