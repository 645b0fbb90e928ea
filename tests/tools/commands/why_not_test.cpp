#include <doctest/doctest.h>

#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

TEST_CASE("why not: the hold that was too short is held longer, and the scenario with it replays") {
  const Folder folder;
  const std::string changed = folder.file("changed.yaml");
  const Ran ran =
      drybus_program("why scenarios/reports/replays/three-answer.yaml M4.address --not 12/2/4 -o " + changed);
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("had they held on for 4 s: hold M4 local for 2.6 s") != std::string::npos);
  const Ran replay = drybus_program("run " + changed + " --format json");
  CHECK(replay.out.find("\"12/2/4\"") != std::string::npos);
}

TEST_CASE("why not: a wait is shortened by no more than needed") {
  // 5.6 s are lacking: what is done at 4:47.0 and after it gives the address at 4:50.6, and 4:45 is asked about.
  const Folder folder;
  const std::string late = folder.write("late.yaml", R"(drybus: 1
title: Late with the plate
family: wired-keypad
seed: 11
site:
  places: {foyer: {}, loft: {walk: {foyer: 130s}}}
  plates: {P1: {place: foyer, switches: {site: 23, zone: 4}}}
  modules: {M1: {place: loft, intended: 23/4/1}}
script:
  - {hold: P1 set, for: 2.7s}
  - walk: loft
  - wait: 20s
  - {hold: M1 local, for: 3.7s}
  - {hold: P1 set, for: 2.7s}
  - press: P1 up
  - press: P1 accept
)");
  const Ran ran = drybus_program("why " + late + " M1.address --not 23/4/1 --at 4:45");
  CAPTURE(ran.out);
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("had they waited 14.4 s at most: wait 20 s") != std::string::npos);
}

TEST_CASE("why not: a module that was forgotten would have had its address, had it been addressed") {
  const Ran ran = drybus_program("why scenarios/training/unaddressed.yaml M3.address --not 23/5/3");
  CAPTURE(ran.out);
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("hold M3 local for 4 s, then press P1 up, then") != std::string::npos);
}

TEST_CASE("why not: what no single change can do is said so") {
  const Ran ran = drybus_program("why scenarios/training/unaddressed.yaml M3.address --not 9/9/9");
  CHECK(ran.exit_code == 1);
  CHECK(ran.out.find("No single change") != std::string::npos);
  CHECK(drybus_program("why scenarios/training/unaddressed.yaml unaddressed --not 1").exit_code == 2);
}

}  // namespace
