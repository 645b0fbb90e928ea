// Whole lines: how many compares, how long, what two senders make of one another. Times against the reference sheet.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "model/iec62386/run.h"
#include "model/iec62386/simulation.h"

namespace {

using namespace drybus::iec62386;
namespace sim = drybus::sim;
namespace protocol = drybus::protocol;

/// A line of so many new gear and as many controllers.
Scenario line_of(std::size_t gear, std::size_t controllers = 1) {
  Scenario scenario;
  scenario.site.places.push_back({"here", {0s}});
  scenario.site.lines.push_back({"L1", 250, 1.5});
  for (std::size_t i = 0; i < controllers; ++i) {
    ControllerSpec spec;
    spec.name = "C" + std::to_string(i + 1);
    scenario.site.controllers.push_back(spec);
  }
  for (std::size_t i = 0; i < gear; ++i) {
    GearSpec spec;
    spec.name = "M" + std::to_string(i + 1);
    scenario.site.gear.push_back(spec);
  }
  scenario.people.push_back({"installer", 0, {}});
  scenario.files.push_back("made up");
  return scenario;
}

Step address(Index controller = 0) {
  Step step;
  step.kind = StepKind::address;
  step.controller = controller;
  return step;
}

Step send(const BitFrame& frame, Index controller = 0, bool asks = false) {
  Step step;
  step.kind = StepKind::send;
  step.controller = controller;
  Send one;
  one.frame = frame;
  one.wants_answer = asks;
  step.sends.push_back(one);
  return step;
}

struct Ran {
  World world;
  sim::Record record;
  std::size_t carried_frames = 0;
  double seconds = 0;
  std::vector<protocol::Found> findings;
};

Ran run_to_end(const Scenario& scenario) {
  Ran ran{initial_world(scenario, scenario.seed), {}, 0, 0, {}};
  Simulation simulation{scenario, ran.world, ran.record};
  while (!simulation.scripts_over() && simulation.step()) {
  }
  ran.findings = simulation.watch().findings();
  for (const sim::Entry& entry : ran.record.entries()) {
    if (what(entry) == What::sent) ++ran.carried_frames;
  }
  ran.seconds = sim::seconds(ran.world.now);
  return ran;
}

TEST_CASE("on a line, too, n gear take exactly 25 n + 1 compares, n from 0 to 64") {
  for (std::size_t n = 0; n <= 64; ++n) {
    Scenario scenario = line_of(n);
    scenario.seed = n + 1;
    scenario.people[0].script.push_back(address());
    const Ran ran = run_to_end(scenario);
    CHECK(ran.world.controllers[0].round.searcher.compares == 25 * n + 1);
    CHECK(ran.world.controllers[0].round.found == n);
    std::vector<bool> taken(64);
    for (const GearState& gear : ran.world.gear) {
      REQUIRE(gear.memory.short_address < 64);
      CHECK_FALSE(taken[gear.memory.short_address]);
      taken[gear.memory.short_address] = true;
    }
    CHECK(ran.findings.empty());
  }
}

TEST_CASE("64 gear: about 3619 frames and 116 s of line time at priority 1, as computed in the sheet") {
  double all_s = 0;
  double all_frames = 0;
  constexpr int runs = 8;
  for (int i = 0; i < runs; ++i) {
    Scenario scenario = line_of(64);
    scenario.seed = 100U + static_cast<unsigned>(i);
    scenario.people[0].script.push_back(address());
    const Ran ran = run_to_end(scenario);
    all_s += ran.seconds;
    all_frames += static_cast<double>(ran.carried_frames);
  }
  MESSAGE("frames " << all_frames / runs << ", line time " << all_s / runs << " s");
  CHECK(std::abs(all_frames / runs - 3619) < 40);
  CHECK(std::abs(all_s / runs - 116) < 1.5);
}

TEST_CASE("answers begin 5.5 to 10.5 ms after their frame, frames settle by priority") {
  Scenario scenario = line_of(1);
  scenario.site.gear[0].memory.short_address = 0;
  for (int i = 0; i < 40; ++i)
    scenario.people[0].script.push_back(send(command_frame({Target::Kind::all, 0}, 0xA0), 0, true));
  protocol::RunOptions options;
  options.keeps_waves = true;
  const protocol::Run run = drybus::iec62386::run(scenario, options);
  const auto& frames = run.carried[0].frames;
  REQUIRE(frames.size() == 80);
  for (std::size_t i = 0; i < frames.size(); i += 2) {
    const auto gap = frames[i + 1].from - frames[i].from - sim::length(bits, frames[i].frame);
    CHECK(gap >= answer_window.least);
    CHECK(gap <= answer_window.most);
  }
}

TEST_CASE("two who begin at the same time: the 1 wins where they differ, the other comes after it") {
  Scenario scenario = line_of(1, 2);
  Step first = send(level_frame({Target::Kind::all, 0}, 100), 0);
  Step second = send(level_frame({Target::Kind::all, 0}, 200), 1);
  first.at = second.at = sim::start_of_run + 1s;
  scenario.people[0].script.push_back(first);
  scenario.people.push_back({"other", 0, {second}});
  const Ran ran = run_to_end(scenario);
  CHECK(ran.world.gear[0].motion.to == 100);  // the last of both
  const auto entries = ran.record.entries();
  CHECK(std::count_if(entries.begin(), entries.end(),
                      [](const auto& e) { return what(e) == What::collided; }) == 1);
}

TEST_CASE("two who see no collisions garble one another, and nothing is heard") {
  Scenario scenario = line_of(1, 2);
  for (ControllerSpec& controller : scenario.site.controllers) controller.sees_collisions = false;
  Step first = send(level_frame({Target::Kind::all, 0}, 100), 0);
  Step second = send(level_frame({Target::Kind::all, 0}, 200), 1);
  first.at = second.at = sim::start_of_run + 1s;
  scenario.people[0].script.push_back(first);
  scenario.people.push_back({"other", 0, {second}});
  CHECK(run_to_end(scenario).world.gear[0].motion.to == 254);  // as it was
}

TEST_CASE("the printed worked example of the drop: 300 m, 1.5 mm2, 250 mA are 1.786 V") {
  CHECK(std::abs(drop_v(300, 1.5, 250) - 1.786) < 0.0005);
  CHECK(low_enough({"L1", 250, 1.5}, 300, 0, 250));
  CHECK_FALSE(low_enough({"L1", 250, 0.5}, 180, 0, 250));
  CHECK(low_enough({"L1", 250, 0.5}, 0, 180, 250));
}

TEST_CASE("a copy of a world goes on alike, and the digest of a run does not change") {
  Scenario scenario = line_of(6);
  scenario.people[0].script.push_back(address());
  World world = initial_world(scenario, 1);
  sim::Record record;
  Simulation simulation{scenario, world, record};
  for (int i = 0; i < 500; ++i) simulation.step();
  World fork = world;
  CHECK(fork == world);
  const protocol::Run first = drybus::iec62386::run(scenario, {});
  const protocol::Run second = drybus::iec62386::run(scenario, {});
  CHECK(first.digest == second.digest);
  protocol::RunOptions other;
  other.seed = 77;
  CHECK(drybus::iec62386::run(scenario, other).digest != first.digest);
}

TEST_CASE("a run has its budgets") {
  Scenario scenario = line_of(64);
  scenario.people[0].script.push_back(address());
  protocol::RunOptions options;
  options.most_events = 100;
  CHECK(drybus::iec62386::run(scenario, options).broken_off == "more than 100 events");
  options = {};
  options.until = 1s;
  CHECK_FALSE(drybus::iec62386::run(scenario, options).broken_off.empty());
}

}  // namespace
