// Where a plate and its modules are in different rooms and an offer has to be confirmed, there was no cure: the good plan that
// takes the place of the best one never confirmed anything. And where a module asks, somebody else who waited took the answer.
#include <doctest/doctest.h>

#include <regex>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

const std::string two_rooms = R"(drybus: 1
title: Nothing is addressed yet
family: confirming-modules
site:
  places: {hall: {}, attic: {walk: {hall: 25s}}}
  plates:
    P1: {label: Hall plate, place: hall, switches: {site: 12, zone: 9}}
    P2: {label: Attic plate, place: attic, switches: {site: 12, zone: 4}}
  modules:
    M1: {label: One, place: hall, intended: 12/9/1}
    M2: {label: Two, place: attic, intended: 12/9/2}
    M3: {label: Three, place: attic, intended: 12/4/1}
    M4: {label: Four, place: hall, intended: 12/4/2}
script:
  - hold: P1 tools c
    for: 2.1s
)";

const std::string somebody_waits = R"(drybus: 1
title: The wrong one was put in setup
family: wired-keypad
site:
  plates:
    P1: {label: First plate, switches: {site: 27, zone: 2}}
    P2: {label: Plate that answers, family: asking-modules, switches: {site: 27, zone: 3}}
  modules:
    M1: {label: Old one, intended: 27/2/1, stored: 27/2/1}
    M2: {label: Asks, family: asking-modules, intended: 27/3/1}
script:
  - hold: M1 local
    for: 3.7s
)";

const std::string two_plates_alike = R"(drybus: 1
title: Two plates with one number
family: wired-keypad
site:
  plates:
    P1: {label: Hall plate, switches: {site: 23, zone: 4}}
    P2: {label: Study plate, switches: {site: 23, zone: 4}}
  modules:
    M1: {label: Hall, intended: 23/4/1, stored: 23/4/1}
    M2: {label: Study, intended: 23/5/1}
script:
  - wait: 1s
)";

const std::string one_room = R"(drybus: 1
title: One without an address, in a house that names no rooms
family: supply-counter
site:
  plates:
    P1: {label: Plate, switches: {site: 17, zone: 3}}
  modules:
    M1: {label: Hob, intended: 17/3/1}
script:
  - wait: 1s
)";

/// The cure in words; its scenario is run, too.
std::string cure_of(const std::string& text) {
  const Folder folder;
  const std::string file = folder.write("case.yaml", text);
  const Ran ran = drybus_program("recover " + file + " -o " + folder.file("cured.yaml"));
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.out, ran.err);
  const Ran again = drybus_program("run -q " + folder.file("cured.yaml"));
  CHECK_MESSAGE(again.exit_code == 0, again.out, again.err);
  // Where its lines end is no matter.
  return std::regex_replace(ran.out, std::regex{"\\s+"}, " ");
}

TEST_SUITE("regressions") {
  TEST_CASE("what is offered from another room is confirmed") {
    CHECK(cure_of(two_rooms).find("keeps it when it is pressed within") != std::string::npos);
  }

  TEST_CASE("nobody else waits when a module asks") {
    CHECK(cure_of(somebody_waits).find("(M1) briefly, once") != std::string::npos);
  }

  TEST_CASE("of two plates with one number one can be set to what is missing") {
    CHECK(cure_of(two_plates_alike).find("set its switches: site 23") != std::string::npos);
  }

  TEST_CASE("nobody is sent anywhere where there is but one place") {
    CHECK(cure_of(one_room).find("Go to") == std::string::npos);
  }
}

}  // namespace
