// A module's breaker had tripped, and the cure said so itself; but as a bus that might be broken was to be mended as well, it
// had everything isolated and restored, and nobody was told to give that module its supply back.
#include <doctest/doctest.h>

#include <boost/json.hpp>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;
namespace json = boost::json;

const std::string one_is_dead = R"(drybus-report: 1
title: "One is quite dead"
family: wired-keypad
site:
  plates:
    P1: {label: Door plate, switches: {site: 21, zone: 3}}
  modules:
    M1: {label: Window, intended: 21/3/1, stored: 21/3/1}
    M2: {label: Table, intended: 21/3/2, stored: 21/3/2}
    M3: {label: Shelf, intended: 21/3/3, stored: 21/3/3}
script:
  - press: P1 up
  - wait: 2s
  - seen: {M2.indicator: dark}
  - press: M2 local
  - wait: 2s
seen:
  - {M1: on, M2: off, M3: on, M2.indicator: dark}
complaint: {never: M2 reacts}
)";

/// Which step begins so; the number of steps when none does.
std::size_t step_with(const json::array& steps, std::string_view text) {
  std::size_t index = 0;
  while (index < steps.size() && steps[index].at("text").as_string().find(text) == json::string::npos)
    ++index;
  return index;
}

TEST_SUITE("regressions") {
  TEST_CASE("what has lost its supply gets it back, also where something else is to be mended") {
    const Folder folder;
    const Ran ran = drybus_program("recover " + folder.write("dead.yaml", one_is_dead) + " --format json");
    REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
    const json::array steps = json::parse(ran.out).as_object().at("steps").as_array();
    const std::size_t supply = step_with(steps, "Have the supply of Table (M2) restored");
    REQUIRE(supply < steps.size());
    CHECK(supply < step_with(steps, "Have the supply of everything of ours isolated"));
  }
}

}  // namespace
