// Firmware that is one main loop over static variables: turns that are left out make no difference, old states are put back,
// and causes pass through turns. The sample is tests/firmware/polled.c.
#include <doctest/doctest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "model/record/observables.h"
#include "model/run/run.h"
#include "model/world/key.h"
#include "sim/random.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/small_site.h"
#include "tools/options/firmware_choice.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace std::chrono_literals;
namespace fs = std::filesystem;

std::string library(const std::string& name) {
  return (fs::path{DRYBUS_PROGRAM}.parent_path() / "firmware" / (name + ".so")).string();
}

std::string polled(int clock) {
  return "module=" + library("polled_" + std::to_string(clock));
}

void says(const std::string& text, const std::string& what) {
  CHECK_MESSAGE(text.find(what) != std::string::npos, text);
}

/// Everything that there is to know of how it ended, and of what was seen on the way.
struct Ending {
  std::string seen;
  std::vector<std::byte> key;
  friend bool operator==(const Ending&, const Ending&) = default;
};

Ending ending(const model::Scenario& built_in, const std::string& firmware, bool every_turn) {
  model::Scenario scenario = built_in;
  model::FirmwareManner manner;
  manner.every_turn = every_turn;
  tools::FirmwareChoice{{firmware}, manner}.put_in(scenario);
  const model::RunResult result = model::run(scenario);
  CHECK_FALSE(result.broken_off.has_value());
  Ending end{model::observable_digest(result.record).hex(), {}};
  model::WorldKey{scenario, model::initial_world(scenario)}.write(result.world, end.key);
  return end;
}

/// Presses, holds, waits and power cuts at times on and off the grid of 10 ms.
model::Scenario random_script(std::uint64_t seed) {
  model::Scenario scenario = small_scenario(2);
  Script script{scenario};
  sim::Stream draw{seed, sim::Purpose::generator, 22, 0};
  for (std::uint64_t i = 0; i < 12; ++i) {
    const std::string module = draw.below(2) == 0 ? "M1" : "M2";
    switch (draw.below(7)) {
      case 0:
        script.hold("P1", set, 5500ms);
        break;
      case 1:
        script.hold(module, 0, 3200ms);
        break;
      case 2:
        script.press("P1", static_cast<model::Button>(draw.below(6)),
                     sim::Duration{50'000'000 + static_cast<std::int64_t>(draw.below(400'000'000))});
        break;
      case 3:
        script.press(module, 0, 10ms * static_cast<std::int64_t>(1 + draw.below(30)));
        break;
      case 4:
        script.power(module, false)
            .wait(10ms * static_cast<std::int64_t>(draw.below(300)))
            .power(module, true);
        break;
      case 5:
        script.wait(sim::Duration{static_cast<std::int64_t>(draw.below(400'000'000'000))});
        break;
      default:
        script.wait(10ms * static_cast<std::int64_t>(draw.below(50)));
        break;
    }
  }
  return scenario;
}

const std::string held =
    "drybus: 1\nfamily: wired-keypad\nsite:\n  plates: {}\n  modules: {M1: {intended: 23/4/1}}\nscript:\n"
    "  - hold: M1 local\n    for: 3.7s\n  - expect: {M1.mode: setup}\n";

}  // namespace

TEST_SUITE("polled firmware") {
  TEST_CASE("turns that are left out make no difference, whatever the clock is") {
    for (const int clock : {0, 1, 2}) {
      for (std::uint64_t seed = 1; seed <= 12; ++seed) {
        CAPTURE(clock);
        CAPTURE(seed);
        const model::Scenario scenario = random_script(seed);
        const Ending every = ending(scenario, polled(clock), true);
        const Ending some = ending(scenario, polled(clock), false);
        CHECK(some.seen == every.seen);
        CHECK(some.key == every.key);
      }
    }
  }

  TEST_CASE(
      "turns that are foreseen make no difference, however code counts and whatever the compiler makes of "
      "it") {
    model::Scenario scenario = small_scenario(1);
    Script script{scenario};
    script.wait(75min).press("P1", off).wait(80min).press("M1", 0, 100ms).wait(90s);
    for (const int loop : {1, 2, 3, 4, 5, 6, 7, 8}) {
      for (const int level : {0, 3}) {
        CAPTURE(loop);
        CAPTURE(level);
        const std::string firmware =
            "module=" + library("loop_" + std::to_string(loop) + "_" + std::to_string(level));
        const Ending every = ending(scenario, firmware, true);
        const Ending some = ending(scenario, firmware, false);
        CHECK(some.seen == every.seen);
        CHECK(some.key == every.key);
      }
    }
  }

  TEST_CASE("rounds that are foreseen make no difference: a heartbeat, and something after hours") {
    model::Scenario scenario = small_scenario(1);
    Script{scenario}.wait(8h);
    for (const std::string level : {"0", "3"}) {
      const std::string firmware = "module=" + library("loop_9_" + level);
      const Ending every = ending(scenario, firmware, true);
      const Ending some = ending(scenario, firmware, false);
      CHECK(some.seen == every.seen);
      CHECK(some.key == every.key);
    }
  }

  TEST_CASE("a year goes by in a moment, whatever the clock is") {
    // A year has 3,153,600,000 turns. Whoever goes through them one by one takes a minute and more.
    const Folder folder;
    std::string year = held;
    year.replace(year.find("  - expect"), std::string::npos,
                 "  - wait: 8760h\n  - press: M1 local\n  - expect: {M1.mode: normal}\n");
    const std::string check = "check " + folder.write("year.yaml", year) + " --most-time 20s --firmware ";
    for (const int clock : {0, 1, 2}) CHECK(drybus_program(check + polled(clock)).exit_code == 0);
    CHECK(drybus_program(
              "check " +
              folder.write(
                  "loop.yaml",
                  "drybus: 1\nfamily: wired-keypad\nsite: {plates: {}, modules: {M1: {intended: 23/4/1}}}\n"
                  "script:\n  - wait: 8760h\n") +
              " --most-time 20s --firmware module=" + library("loop_9_3"))
              .exit_code == 0);
  }

  TEST_CASE("the three clocks cannot be told apart in what is seen") {
    for (std::uint64_t seed = 20; seed <= 25; ++seed) {
      const model::Scenario scenario = random_script(seed);
      const Ending by_passed = ending(scenario, polled(0), false);
      CHECK(ending(scenario, polled(1), false).seen == by_passed.seen);
      CHECK(ending(scenario, polled(2), false).seen == by_passed.seen);
    }
  }

  TEST_CASE("a device that is old when the run begins meets the wrap at once") {
    const Folder folder;
    const std::string late = held + "  - wait: 4min\n  - expect: {M1.mode: normal}\n";
    const std::string scenario = folder.write("late.yaml", late);
    const std::string bug = " --firmware module=" + library("polled_bug_4");
    CHECK(drybus_program("check " + scenario + bug).exit_code == 0);
    CHECK(drybus_program("check " + scenario + bug + " --uptime 1193h2min").exit_code == 1);
    CHECK(
        drybus_program("check " + scenario + " --firmware " + polled(1) + " --uptime 1193h2min").exit_code ==
        0);
    CHECK(drybus_program("check " + scenario + " --firmware " + polled(1) + " --uptime 49d17h").exit_code ==
          0);
    const Ran wrong = drybus_program("check " + scenario + bug + " --uptime soon");
    CHECK(wrong.exit_code == 2);
    says(wrong.err, "'soon' is no time");
  }

  TEST_CASE("causes pass through turns: why names the hand") {
    const Folder folder;
    const std::string scenario = folder.write("held.yaml", held);
    const Ran why = drybus_program("why " + scenario + " M1.mode --prove --firmware " + polled(0));
    CHECK(why.exit_code == 0);
    says(why.out, "hold M1 local");
  }

  TEST_CASE(
      "what has static variables is hunted and put back; what allocates in them is stopped there, by name") {
    const Folder folder;
    const std::string scenario = folder.write("held.yaml", held);
    const Ran hunt =
        drybus_program("hunt " + scenario + " --for 'M1.mode is normal' --firmware " + polled(0));
    CHECK_MESSAGE(hunt.exit_code == 0, hunt.err);
    const std::string allocates = " --firmware module=" + library("allocator");
    CHECK(drybus_program("check " + scenario + allocates).exit_code == 1);  // it has no setup
    const Ran refused = drybus_program(
        "hunt " + scenario + " --for 'M1.mode is normal' --firmware module=" + library("allocator"));
    CHECK(refused.exit_code == 1);
    says(refused.err, "allocates memory ('malloc')");
  }

  TEST_CASE(
      "each of five mistakes is found by compare --hunt within a minute, from a scenario that was written "
      "for something else") {
    const std::string start =
        "compare scenarios/regression/hunt-start.yaml --hunt --with power --most-time 60s --firmware ";
    for (const int bug : {1, 2, 3, 4, 5}) {
      CAPTURE(bug);
      // One that counts milliseconds is old enough to meet the wrap.
      const std::string options = bug == 4 ? polled(1) + " --uptime 1193h2min" : polled(0);
      const Ran ran = drybus_program(start + options +
                                     " --firmware module=" + library("polled_bug_" + std::to_string(bug)));
      CHECK_MESSAGE(ran.exit_code == 1, ran.out);
      says(ran.out, "told apart in 1");
    }
  }

  TEST_CASE(
      "what does as its family's table says was driven through the same rows; what does not is left out, and "
      "named") {
    const std::string covered =
        "check --coverage scenarios/training/first-steps.yaml scenarios/training/zone-zero.yaml";
    const Ran alike = drybus_program(covered + " --firmware module=" + library("reference"));
    const Ran built_in = drybus_program(covered);
    CHECK(alike.exit_code == built_in.exit_code);
    CHECK(alike.out == built_in.out);
    CHECK(alike.err.empty());
    const Ran other = drybus_program(covered + " --firmware " + polled(0));
    CHECK(other.exit_code == 1);
    says(other.err,
         "left out  scenarios/training/first-steps.yaml: the firmware does something else there: ");
    const std::string mutants =
        "check --mutants scenarios/training/first-steps.yaml --states 1000 --format json";
    CHECK(drybus_program(mutants + " --firmware module=" + library("reference")).out ==
          drybus_program(mutants).out);
  }

  TEST_CASE("what firmware prints is in the record, with device and time, and not on the terminal") {
    const Folder folder;
    const std::string scenario = folder.write("s.yaml",
                                              "drybus: 1\nfamily: wired-keypad\nsite: {plates: {}, modules: "
                                              "{M1: {intended: 23/4/1}}}\nscript:\n  - press: M1 local\n");
    const std::string prints = " --firmware module=" + library("faulty_0");
    const Ran checked = drybus_program("check " + scenario + prints);
    CHECK(checked.exit_code == 0);
    CHECK(checked.out.find("press 1") == std::string::npos);
    const Ran ran = drybus_program("run " + scenario + prints);
    says(ran.out, "M1 logs: press 1 of many");
    says(ran.out, "M1 logs: done?");
  }

  TEST_CASE("a crash is told with its file, line and function, also where the sources call one another") {
    const Folder folder;
    const std::string scenario = folder.write("s.yaml",
                                              "drybus: 1\nfamily: wired-keypad\nsite: {plates: {}, modules: "
                                              "{M1: {intended: 23/4/1}}}\nscript:\n  - press: M1 local\n");
    const Ran ran = drybus_program("check " + scenario + " --firmware module=" + library("faulty_3"));
    CHECK(ran.exit_code == 1);
    says(ran.out,
         "crashes (SIGSEGV: it uses an address where nothing is, or runs out of stack), at faulty.c:37, in ");
    says(ran.out, "before it: 0:00.0 M1 logs: press 1 of many");
    const std::string twice = folder.write("t.yaml", content_of(scenario) + "  - press: M1 local\n");
    const Ran allocates = drybus_program("check " + twice + " --firmware module=" + library("offender_8"));
    says(allocates.out, "at offender.c:");
  }
}
