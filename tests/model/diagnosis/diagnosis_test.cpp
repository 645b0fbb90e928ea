#include "model/diagnosis/diagnosis.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <iostream>

#include "model/diagnosis/next_check.h"
#include "model/run/run.h"
#include "model/world/installer.h"
#include "tests/support/catalogue.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;
using namespace drybus::tests;

/// The installation of a small site as it was meant, and two presses by which it is tried out.
Report installation(std::size_t modules) {
  Report report;
  report.believed = small_scenario(modules);
  Script script{report.believed};
  for (std::size_t i = 1; i <= modules; ++i)
    address(script, "P1", "M" + std::to_string(i), static_cast<int>(i));
  script.press("P1", down).wait(2s).press("P1", up).wait(2s);
  return report;
}

DeviceId device(const Report& report, const std::string& name) {
  return *report.believed.site.find_device(name);
}

/// Step `nth` (from 0) of the script that pushes a button of the device.
std::uint32_t push_of(const Report& report, const std::string& name, std::size_t nth) {
  const std::vector<Step>& script = report.believed.people.front().script;
  for (std::uint32_t i = 0; i < script.size(); ++i) {
    const bool pushes = script[i].kind == StepKind::press || script[i].kind == StepKind::hold;
    if (pushes && script[i].device == device(report, name) && nth-- == 0) return i;
  }
  FAIL("no such step");
  return 0;
}

/// What really happened, run by itself: every load after the press of off and at the end, and every lamp at
/// the end.
void look_around(Report& report, const Changes& truth) {
  const auto steps = static_cast<std::uint32_t>(report.believed.people.front().script.size());
  const Altered altered{report.believed, truth};
  World world = initial_world(altered.scenario());
  Simulation simulation{altered.scenario(), world};
  simulation.begin();
  const auto note_loads = [&](std::optional<std::uint32_t> after) {
    for (std::size_t i = 0; i < report.believed.site.modules.size(); ++i) {
      const bool lit = world.loads[i].at(world.now) > 0;
      report.seen.push_back(
          {report.believed.site.module_id(i), Fact::load, lit ? "lit" : "dark", after, false, {}});
    }
  };
  const auto moved = static_cast<std::uint16_t>(altered.scenario().people.front().script.size() - steps);
  while (world.people.front().step < steps - 2u + moved) simulation.step();
  note_loads(steps - 3);
  while (world.people.front().done == 0) simulation.step();
  note_loads(std::nullopt);
  for (std::size_t i = 0; i < report.believed.site.device_count(); ++i) {
    const std::string shows{to_string(world.devices[i].indicator)};
    report.seen.push_back({static_cast<DeviceId>(i), Fact::indicator, shows, std::nullopt, false, {}});
  }
}

/// Whether one of the first `among` explanations has this cause at this device.
bool names(const Diagnosis& diagnosis, Mishap cause, DeviceId about, std::size_t among = 1) {
  for (std::size_t i = 0; i < std::min(among, diagnosis.explanations.size()); ++i) {
    for (const Account& account : diagnosis.explanations[i].ways) {
      for (const PlacedCause& placed : account.causes) {
        if (placed.cause == cause && placed.device == about) return true;
      }
    }
  }
  return false;
}

/// For whoever works on this: SHOW=1 prints what was found.
void show(const Report& report, const Diagnosis& diagnosis) {
  if (std::getenv("SHOW") == nullptr) return;
  std::cout << diagnosis.runs << " runs, explored " << diagnosis.explored << ", unexplained "
            << diagnosis.unexplained << "\n";
  for (const RankedExplanation& each : diagnosis.explanations) {
    std::cout << each.probability << " against " << each.contradicted.size() << "\n";
    for (const Account& account : each.ways)
      std::cout << "    " << account.probability << " " << account.text << "\n";
  }
  if (const auto next = next_check(report, diagnosis)) {
    std::cout << next->check.text << " " << next->bits << " bits, " << next->check.minutes << " min\n";
    for (const CheckOutcome& each : next->outcomes)
      std::cout << "    " << each.probability << " " << each.text << "\n";
  }
}

Diagnosis diagnose_truth(Report& report, const Changes& truth) {
  look_around(report, truth);
  Diagnosis diagnosis = diagnose(report, shipped_catalogue());
  show(report, diagnosis);
  REQUIRE_FALSE(diagnosis.explanations.empty());
  return diagnosis;
}

TEST_CASE("a module whose button was let go too early is found") {
  Report report = installation(4);
  const std::uint32_t hold = push_of(report, "M3", 0);
  const Diagnosis diagnosis = diagnose_truth(report, {change::Last{{0, hold}, 2s}});
  CHECK(names(diagnosis, Mishap::let_go_early, device(report, "M3")));
  CHECK(diagnosis.explored > 0.5);
  CHECK(diagnosis.conflict.empty());
}

TEST_CASE("a step that was forgotten is found") {
  Report report = installation(4);
  const Diagnosis diagnosis = diagnose_truth(report, {change::Skip{{0, push_of(report, "M2", 0)}}});
  CHECK(names(diagnosis, Mishap::forgot, device(report, "M2")));
}

TEST_CASE("one module taken for another is found") {
  Report report = installation(4);
  const std::uint32_t hold = push_of(report, "M4", 0);
  Step other = report.believed.people.front().script[hold];
  other.device = device(report, "M1");
  const Diagnosis diagnosis =
      diagnose_truth(report, {change::Insert{{0, hold}, {other}}, change::Leave{{0, hold}}});
  // Which module it was taken for cannot be seen, so four are as good.
  CHECK(names(diagnosis, Mishap::wrong_module, device(report, "M4"), 4));
}

TEST_CASE("an open link is found") {
  Report report = installation(4);
  Step open;
  open.kind = StepKind::fault;
  open.fault.kind = FaultKind::open;
  open.fault.link = 2;
  const Diagnosis diagnosis = diagnose_truth(report, {change::Insert{{0, 0}, {open}}});
  REQUIRE_FALSE(diagnosis.explanations.front().faults.empty());
  CHECK(diagnosis.explanations.front().faults.front().cause == Mishap::open_link);
  CHECK(diagnosis.explanations.front().faults.front().link == 2u);
}

TEST_CASE("two slips at once are found") {
  Report report = installation(5);
  const Changes truth{change::Last{{0, push_of(report, "M2", 0)}, 2s},
                      change::Skip{{0, push_of(report, "M5", 0)}}};
  const Diagnosis diagnosis = diagnose_truth(report, truth);
  CHECK(names(diagnosis, Mishap::let_go_early, device(report, "M2"), 3));
  CHECK(names(diagnosis, Mishap::forgot, device(report, "M5"), 3));
}

TEST_CASE("two modules taken for each other are found, though neither slip explains it by itself") {
  Report report;
  report.believed = small_scenario(4);
  Script script{report.believed};
  for (int i = 1; i <= 4; ++i) address(script, "P1", "M" + std::to_string(i), i);
  script.hold("P1", set, 3s);
  for (int i = 1; i <= 4; ++i) script.press("P1", up).wait(2s);
  const std::uint32_t second = push_of(report, "M2", 0);
  const std::uint32_t third = push_of(report, "M3", 0);
  Scenario truth = report.believed;
  std::vector<Step>& done = truth.people.front().script;
  std::swap(done[second].device, done[third].device);

  // Whose lamp is steady at each channel.
  World world = initial_world(truth);
  Simulation simulation{truth, world};
  simulation.begin();
  for (std::uint32_t step = static_cast<std::uint32_t>(done.size()) - 8; step < done.size(); ++step) {
    while (world.people.front().done == 0 && world.people.front().step <= step) simulation.step();
    if (done[step].kind != StepKind::wait) continue;
    for (std::size_t i = 0; i < 4; ++i) {
      const DeviceId module = truth.site.module_id(i);
      report.seen.push_back({module,
                             Fact::indicator,
                             std::string{to_string(world.devices[module].indicator)},
                             step,
                             false,
                             {}});
    }
  }
  const Diagnosis found = diagnose(report, shipped_catalogue());
  show(report, found);
  REQUIRE_FALSE(found.explanations.empty());
  const RankedExplanation& first = found.explanations.front();
  CHECK(first.faults.size() == 2);
  CHECK(first.contradicted.empty());
  CHECK(names(found, Mishap::wrong_module, device(report, "M2")));
  CHECK(names(found, Mishap::wrong_module, device(report, "M3")));
}

TEST_CASE("a story that explains all that is seen ranks first") {
  Report report = installation(3);
  const Diagnosis diagnosis = diagnose_truth(report, {});
  CHECK(diagnosis.explanations.front().faults.empty());
  CHECK(diagnosis.explanations.front().contradicted.empty());
}

/// Step `nth` (from 0) of the script that presses just this button of P1.
std::uint32_t press_of(const Report& report, Button button, std::size_t nth) {
  const std::vector<Step>& script = report.believed.people.front().script;
  for (std::uint32_t i = 0; i < script.size(); ++i) {
    if (script[i].kind == StepKind::press && script[i].device == device(report, "P1") &&
        script[i].buttons == only(button) && nth-- == 0)
      return i;
  }
  FAIL("no such step");
  return 0;
}

TEST_CASE("somebody who was called away between two presses, longer than setup lasts, is found") {
  Report report = installation(4);
  Step away;
  away.duration = report.believed.site.family.plate.time_out.after + 60s;
  const Diagnosis diagnosis =
      diagnose_truth(report, {change::Insert{{0, press_of(report, accept, 2)}, {away}}});
  bool found = false;
  for (std::size_t i = 0; i < std::min<std::size_t>(3, diagnosis.explanations.size()); ++i) {
    for (const Account& account : diagnosis.explanations[i].ways)
      found = found || account.text.find("was kept for about") != std::string::npos;
  }
  CHECK(found);
}

TEST_CASE("what contradicts every explanation speaks for something unknown") {
  Report report = installation(4);
  const Diagnosis before = diagnose_truth(report, {change::Last{{0, push_of(report, "M3", 0)}, 2s}});
  for (const char* name : {"M1", "M2"}) {
    report.seen.push_back({device(report, name), Fact::indicator, "steady", std::nullopt, false, {}});
    report.seen.push_back(
        {device(report, name), Fact::indicator, "blink", push_of(report, "M4", 0), false, {}});
  }
  const Diagnosis after = diagnose(report, shipped_catalogue());
  CHECK(after.unexplained > before.unexplained);
  CHECK(after.unexplained > 0.01);
}

TEST_CASE("the world of an explanation is that in which its scenario ends") {
  Report report = installation(4);
  const Diagnosis diagnosis = diagnose_truth(report, {change::Last{{0, push_of(report, "M3", 0)}, 2s}});
  for (const RankedExplanation& each : diagnosis.explanations) {
    for (const Account& account : each.ways) {
      const RunResult result = run(scenario_of(report, account));
      CHECK(result.world.modules == account.world->modules);
      CHECK(result.world.plates == account.world->plates);
    }
  }
}

}  // namespace
