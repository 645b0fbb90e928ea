// Why held a button that such a module has not: a supply that was thrown too slowly had no cause, no single change put its
// module in setup, and a module that has to confirm was never addressed by what somebody might have done.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

const std::string thrown_slowly =
    "family: supply-counter\nsite:\n  plates:\n    P1: {switches: {site: 17, zone: 3}}\n"
    "  modules:\n    M1: {intended: 17/3/1}\nscript:\n"
    "  - power: {M1: off}\n  - power: {M1: on}\n  - wait: 4s\n"
    "  - power: {M1: off}\n  - power: {M1: on}\n  - wait: 4s\n"
    "  - power: {M1: off}\n  - power: {M1: on}\n"
    "  - {hold: P1 key dim, for: 4.3s}\n  - press: P1 more\n  - press: P1 give\n";

const std::string never_confirmed =
    "family: confirming-modules\nsite:\n  plates:\n    P1: {switches: {site: 17, zone: 3}}\n"
    "  modules:\n    M1: {intended: 17/3/1}\nscript:\n  - wait: 1s\n";

Ran why(const std::string& story, const std::string& question) {
  const Folder folder;
  Ran ran =
      drybus_program("why " + folder.write("told.yaml", "drybus: 1\ntitle: Told\n" + story) + " " + question);
  CAPTURE(ran.out);
  CHECK(ran.err == "");
  for (char& c : ran.out) {
    if (c == '\n') c = ' ';
  }
  return ran;
}

void says(const Ran& ran, const std::string& words) {
  CAPTURE(ran.out);
  CHECK(ran.out.find(words) != std::string::npos);
}

TEST_CASE("a supply thrown too slowly is a cause, and thrown in time a change") {
  says(why(thrown_slowly, "M1.address"), "its supply was left on for 3 s or longer between two throws");
  says(why(thrown_slowly, "assign-unheard"), "M1's supply was left on for 3 s or longer between two throws");
  says(why(thrown_slowly, "M1.mode --not setup"),
       "had they done this as well: switch M1's supply off and on 3 times, each time on for less than 3 s");
}

TEST_CASE("what somebody might have done to address a module ends with its confirmation") {
  says(why(never_confirmed, "M1.address --not 17/3/1"), "M1.address would have been 17/3/1");
  says(why(never_confirmed, "M1.address"), "nobody had offered it one");
  const std::string offered = never_confirmed +
                              "  - {hold: P1 tools c, for: 2.1s}\n  - {hold: M1 tap, for: 4.4s}\n"
                              "  - press: P1 d\n  - wait: 1min\n";
  says(why(offered, "M1.address --not 17/3/1"), "had they done this as well: press M1 tap");
}

}  // namespace
