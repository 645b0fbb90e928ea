// What happens at one and the same instant: devices first, then people in their order, however the step came by its time.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;
namespace sim = drybus::sim;

namespace {

Scenario hall() {
  Scenario scenario = small_scenario(1);
  scenario.site.modules[0].memory.address = {23, 4, 1};
  scenario.site.modules[0].memory.power_up = PowerUp::off;
  scenario.times.pause = 0ms;
  return scenario;
}

/// The same moment after the beginning, by a step that names it, by waiting, and by waiting in several pieces.
enum class By : std::uint8_t { at, wait, waits };
constexpr std::array all_ways{By::at, By::wait, By::waits};

void pass(Script& script, By by, sim::Duration now, sim::Duration until) {
  switch (by) {
    case By::at:
      script.at(until);
      return;
    case By::wait:
      script.wait(until - now);
      return;
    case By::waits:
      script.wait(until - now - 300ms).wait(100ms).wait(200ms);
      return;
  }
}

std::size_t count(const RunResult& result, What kind) {
  const auto& entries = result.record.entries();
  return static_cast<std::size_t>(std::count_if(
      entries.begin(), entries.end(), [kind](const sim::Entry& entry) { return what(entry) == kind; }));
}

}  // namespace

TEST_SUITE("instant") {
  TEST_CASE("a press at the very moment of a plate's time-out meets a plate that has left setup") {
    const auto pressed = [](By by, sim::Duration before) {
      Scenario scenario = hall();
      Script script{scenario};
      script.hold("P1", set, 3s);
      const sim::Duration entered = 2500ms;
      pass(script, by, 3s, entered + test_family().plate.time_out.after - before);
      script.press("P1", up).wait(1s);
      return run(scenario).world;
    };
    for (const By by : all_ways) {
      CAPTURE(static_cast<int>(by));
      const World at_it = pressed(by, 0ns);
      CHECK(at_it.devices[0].mode == Mode::normal);
      CHECK(at_it.loads[0].to == full_level);  // it meant "on"
      const World before = pressed(by, 1ns);   // the hand was first, and setup goes on
      CHECK(before.devices[0].mode == Mode::setup);
      CHECK(before.plates[0].channel == 1);
    }
  }

  TEST_CASE("a module's time-out comes before the press that would have ended its setup") {
    for (const By by : all_ways) {
      CAPTURE(static_cast<int>(by));
      Scenario scenario = hall();
      Script script{scenario};
      script.hold("M1", 0, 4s);
      pass(script, by, 4s, test_family().module.setup_hold + test_family().module.time_out.after);
      script.press("M1").wait(1s);
      const RunResult result = run(scenario);
      CHECK(result.world.devices[1].setup_ended_by == ModeReason::time_out);
      CHECK(result.world.loads[0].to == full_level);  // a press in normal mode
    }
  }

  TEST_CASE("who looks at the moment when a lamp goes out sees it dark") {
    for (const By by : all_ways) {
      CAPTURE(static_cast<int>(by));
      Scenario scenario = hall();
      Script script{scenario};
      script.hold("P1", set, 3s).press("P1", accept);  // channel 0: refused from 3 s on
      pass(script, by, 3200ms, 3s + test_family().indicator.refuse);
      script.look("P1", Fact::indicator, "blink");
      const RunResult result = run(scenario);
      REQUIRE(count(result, What::refused) == 1);
      CHECK(result.passed());
    }
  }

  TEST_CASE("of two people at one moment the one who is named first acts first") {
    for (const By first : all_ways) {
      for (const By second : all_ways) {
        CAPTURE(static_cast<int>(first));
        CAPTURE(static_cast<int>(second));
        Scenario scenario = hall();
        scenario.people.push_back({"colleague", 0, {}});
        Script installer{scenario};
        Script colleague{scenario, 1};
        pass(installer, first, 0s, 10s);
        installer.power("M1", false);
        pass(colleague, second, 0s, 10s);
        colleague.power("M1", true);
        const RunResult result = run(scenario);
        CHECK(result.world.devices[1].powered == 1);
      }
    }
  }

  TEST_CASE("a hold that ends at the moment at which it is long enough was long enough") {
    for (const sim::Duration held : {2500ms, 2499ms}) {
      Scenario scenario = hall();
      Script{scenario}.hold("P1", set, held).wait(1s);
      CHECK((run(scenario).world.devices[0].mode == Mode::setup) == (held == 2500ms));
    }
  }
}
