// What never rests took all memory: 60,000 repeats of a long note, a family whose plates send a beacon every millisecond,
// and a firmware that wakes itself every microsecond, which only `run` refused.
#include <doctest/doctest.h>

#include <filesystem>
#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;

const std::string site =
    "seed: 3\nsite:\n  places: {hall: {}}\n  plates: {P1: {place: hall, switches: {site: 23, zone: 4}}}\n"
    "  modules: {M1: {place: hall, intended: 23/4/1}}\n  bus: {line: [P1, M1]}\nscript:\n";

void says(const std::string& text, const std::string& what) {
  CHECK_MESSAGE(text.find(what) != std::string::npos, text);
}

/// A family like the wired one but for its plates' beacon and time-out.
void write_restless_family(const Folder& folder) {
  std::string family = content_of(DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml");
  const auto change = [&](const std::string& from, const std::string& to) {
    const std::size_t at = family.find(from);
    REQUIRE(at != std::string::npos);
    family.replace(at, from.size(), to);
  };
  change("time_out: 240s", "time_out: 701h");
  change("beacon: 5s", "beacon: 1ms");
  folder.write("restless.yaml", family);
}

std::string restless_scenario(const Folder& folder) {
  write_restless_family(folder);
  return folder.write("a.yaml", "drybus: 1\ntitle: Never at rest\nfamily: restless.yaml\n" + site +
                                    "  - hold: P1 set\n    for: 2.5s\n  - wait: 700h\n");
}

/// With memory for some two million events, as the shell counts it: kilobytes.
constexpr const char* little_memory = "ulimit -v 3000000; ";

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE("a beacon every millisecond for 700 hours ends every command with who it was") {
    const Folder folder;
    const std::string scenario = restless_scenario(folder);
    const std::string few = " --most-events 300000";
    for (const std::string& command :
         {"run " + scenario + few, "check " + scenario + few, "sweep -n 2 " + scenario + few,
          "why " + scenario + " M1.address" + few,
          "draw " + scenario + " -o " + folder.file("a.svg") + few}) {
      CAPTURE(command);
      const Ran ran = shell(little_memory + ("drybus " + command));
      CHECK(ran.exit_code == 2);
      const std::string told = ran.out + ran.err;
      says(told, "stopped after 300000 events, at ");
      says(told, "P1's beacon timer and what it sent made 100 % of the last 150000");
    }
    CHECK_FALSE(std::filesystem::exists(folder.file("a.svg")));
  }

  TEST_CASE("a record has a bound as well, and nobody need ask for one") {
    const Folder folder;
    const std::string scenario = restless_scenario(folder);
    const Ran small = drybus_program("run " + scenario + " --most-record 4MB");
    CHECK(small.exit_code == 2);
    says(small.err, "events that filled the record with 4 MB");
    says(small.err, "P1's beacon timer");
    const Ran usual = shell(little_memory + ("drybus run " + scenario));
    CHECK(usual.exit_code == 2);
    says(usual.err, "events that filled the record with 512 MB");
    says(usual.err, "P1's beacon timer and what it sent made 100 % of the last ");
    const Ran recover = shell(little_memory + ("drybus recover " + scenario));
    CHECK(recover.exit_code == 2);
    says(recover.err, "P1's beacon timer");
    const Ran hunt = shell(little_memory + ("drybus hunt --for setup-split " + scenario));
    CHECK(hunt.exit_code == 2);
    says(hunt.err, "P1's beacon timer");
  }

  TEST_CASE("sixty thousand long notes are kept once, and not told") {
    const Folder folder;
    const std::string scenario = folder.write(
        "a.yaml", "drybus: 1\ntitle: Notes\nfamily: wired-keypad\n" + site +
                      "  - repeat: 60000\n    steps:\n      - note: " + std::string(60'000, 'n') + "\n");
    for (const std::string command : {"run ", "check "}) {
      const Ran ran = shell("ulimit -v 1000000; drybus " + command + scenario);
      CHECK(ran.exit_code == 2);
      says(
          ran.out + ran.err,
          "stopped before it began: the notes and remarks of the script come to 3.35 GB; 512 MB is the most");
    }
  }

  TEST_CASE("a firmware that wakes itself every microsecond gets run's refusal from every command") {
    const Folder folder;
    const std::string scenario =
        folder.write("a.yaml", "drybus: 1\ntitle: Awake\nfamily: wired-keypad\n" + site +
                                   "  - press: M1 local\n  - press: M1 local\n  - wait: 1min\n");
    const std::string awake =
        " --firmware module=" +
        (std::filesystem::path{DRYBUS_PROGRAM}.parent_path() / "firmware" / "offender_20.so").string();
    const std::string few = " --most-events 1000000";
    for (const std::string& command :
         {"run " + scenario + few, "check " + scenario + few, "sweep -j 2 -n 600 " + scenario + few,
          "why " + scenario + " M1.address" + few, "hunt --for setup-split " + scenario}) {
      CAPTURE(command);
      const Ran ran = shell(little_memory + ("drybus " + command + awake));
      CHECK(ran.exit_code == 1);
      std::string told = ran.out + ran.err;
      for (std::size_t at = 0; (at = told.find("\n  ", at)) != std::string::npos;) told.replace(at, 3, " ");
      says(told, "M1: its firmware keeps waking itself up, or sending: stopped after ");
      says(told, "M1's hold timer made ");
    }
  }

  TEST_CASE("bounds that are none are refused with what was expected") {
    const auto refused = [](const std::string& option, const std::string& what) {
      const Ran ran = drybus_program("run scenarios/training/first-steps.yaml " + option);
      CHECK(ran.exit_code == 2);
      says(ran.err, what);
    };
    refused("--most-events 0", "--most-events");
    refused("--most-record 7", "--most-record 7: expected a size with its unit, such as 500MB or 4GB");
    CHECK(drybus_program("run scenarios/training/first-steps.yaml --most-events 100000 --most-record 1MB")
              .exit_code == 0);
  }
}
