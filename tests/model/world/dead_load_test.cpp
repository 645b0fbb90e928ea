// A load that gives no light: the module goes on as if it did.
#include <doctest/doctest.h>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

const std::string dead = R"(drybus: 1
title: A lamp that has had its day
family: wired-keypad
site:
  plates:
    P1: {label: Plate, switches: {site: 23, zone: 4}}
  modules:
    M1: {label: Pendant, intended: 23/4/1, stored: 23/4/1, power_up: off}
    M2: {label: Spots, intended: 23/4/2, stored: 23/4/2, power_up: off}
script:
  - press: P1 up
  - wait: 3s
  - see: {M1.load: 100%, M2.load: 100%}
  - fault: {dead_load: M1}
  - see: {M1.load: dark, M2.load: lit}
  - press: M1 local
  - wait: 3s
  - press: M1 local
  - wait: 3s
  - see: {M1.load: dark}
  - press: P1 up
  - see: {M1.indicator: blip}
)";

TEST_SUITE("world") {
  TEST_CASE("a dead load stays dark while its module hears everything, and shows it again when replaced") {
    const Folder folder;
    std::string text = dead;
    text += "  - fault: {new_load: M1}\n  - wait: 1s\n  - see: {M1.load: 100%}\n";
    const Ran ran = drybus_program("run " + folder.write("dead.yaml", text));
    CHECK_MESSAGE(ran.exit_code == 0, ran.out, ran.err);
    CHECK(ran.out.find("M1's load gives no light") != std::string::npos);
  }

  TEST_CASE("a dead load is put right by an electrician, with the supply isolated") {
    const Folder folder;
    const Ran ran =
        drybus_program("recover " + folder.write("dead.yaml", dead) + " -o " + folder.file("cured.yaml"));
    REQUIRE_MESSAGE(ran.exit_code == 0, ran.out, ran.err);
    CHECK(ran.out.find("changes the lamp or load of Pendant (M1)") != std::string::npos);
    CHECK(ran.out.find("isolated, locked off and proved dead") != std::string::npos);
    CHECK(drybus_program("run -q " + folder.file("cured.yaml")).exit_code == 0);
  }

  TEST_CASE("a plate has no load that could be dead") {
    const Folder folder;
    std::string text = dead;
    text.replace(text.find("dead_load: M1"), 13, "dead_load: P1");
    const Ran ran = drybus_program("run " + folder.write("dead.yaml", text));
    CHECK(ran.exit_code == 2);
    CHECK(ran.err.find("P1 is a plate: it has no load") != std::string::npos);
  }
}

}  // namespace
