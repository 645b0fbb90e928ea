// A plate that had been left to its time-out was said to be out of step with modules put in setup later for another plate,
// on another bus or on another day; the same number on two buses was said to be shared; and who tried the lights at a
// plate long done was said to have misread it. Of 2,000 random correct installs 762 were accused. Nor was it found when a
// press ended a plate's setup while a module waited.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/seeds.h"
#include "tests/swarm/correct_install.h"

namespace {

using namespace drybus;
using tests::drybus_program;
using tests::Folder;

const std::string two_zones = R"(drybus: 1
title: Two zones, one after another
family: wired-keypad
seed: 1
site:
  plates:
    P1: {switches: {site: 23, zone: 4}}
    P2: {switches: {site: 23, zone: 5}}
  modules:
    M1: {intended: 23/4/1}
    M2: {intended: 23/5/1}
)";

const std::string first_zone = R"(script:
  - {hold: P1 set, for: 3s}
  - {hold: M1 local, for: 4s}
  - press: P1 up
  - press: P1 accept
)";

const std::string second_zone = R"(  - {hold: M2 local, for: 4s}
  - {hold: P2 set, for: 3s}
  - press: P2 up
  - press: P2 accept
  - press: P2 two
)";

/// Runs the scenario as a person would; the findings have to be these: "none", "[setup-split]".
void expect_findings(const std::string& scenario, const std::string& findings) {
  const Folder folder;
  const std::string file = folder.write("told.yaml", scenario + "  - expect: {findings: " + findings + "}\n");
  const tests::Ran ran = drybus_program("run " + file);
  CAPTURE(scenario);
  CAPTURE(ran.out);
  CHECK(ran.err == "");
  CHECK(ran.exit_code == 0);
}

TEST_CASE("a plate left to its time-out has nothing to do with a module put in setup for another") {
  expect_findings(two_zones + first_zone + "  - wait: 260s\n" + second_zone, "none");
}

TEST_CASE("a plate left to its time-out has nothing to do with a module on another bus") {
  const std::string buses = "  bus: [{line: [P1, M1]}, {line: [P2, M2]}]\n";
  // It is still in setup when the other bus's module is put there, and gives up while that waits.
  expect_findings(two_zones + buses + first_zone + "  - wait: 200s\n  - {hold: M2 local, for: 4s}\n" +
                      "  - wait: 60s\n" + second_zone.substr(second_zone.find('\n') + 1),
                  "none");
}

TEST_CASE("yesterday's plate has nothing to do with today's module") {
  expect_findings(two_zones + first_zone +
                      "  - wait: 20h\n  - {hold: M2 local, for: 4s}\n  - {hold: P2 set, for: 3s}\n"
                      "  - press: P2 up\n  - press: P2 accept\n  - press: P2 two\n",
                  "none");
  // Nor with another module of its own, that was not there yesterday.
  const std::string one_more = "    M3: {intended: 23/4/2}\n";
  expect_findings(two_zones + one_more + first_zone +
                      "  - wait: 20h\n  - {hold: M3 local, for: 4s}\n  - {hold: P1 set, for: 3s}\n"
                      "  - press: P1 up\n  - press: P1 up\n  - press: P1 accept\n  - press: P1 two\n" +
                      second_zone,
                  "none");
}

TEST_CASE("who tries the lights at a plate long done has not misread it") {
  expect_findings(
      two_zones + first_zone + "  - wait: 260s\n  - press: P1 up\n  - press: P1 off\n" + second_zone, "none");
}

TEST_CASE("a press that ends the plate's setup while a module waits is found, whoever pressed") {
  const std::string waits =
      two_zones + "script:\n  - {hold: P1 set, for: 3s}\n  - {hold: M1 local, for: 4s}\n";
  expect_findings(waits + "  - press: P1 two\n  - wait: 5s\n", "[setup-split, unaddressed]");
  std::string visited = waits;
  visited.insert(visited.find("script:"), "others:\n  visitor: [{press: P1 two, at: 12s}]\n");
  expect_findings(visited + "  - wait: 10s\n", "[setup-split, unaddressed]");
}

TEST_CASE("in no correct install is anything found") {
  const auto families = tests::families_in(DRYBUS_SOURCE_DIR "/scenarios/families");
  for (const std::uint64_t seed : drybus::test::seeds(500)) {
    INFO(drybus::test::replay(seed, "in no correct install is anything found"),
         ", or: build/drybus_installs ", seed, " 1");
    CHECK(tests::accusation(tests::correct_install(families, seed)) == "");
  }
}

}  // namespace
