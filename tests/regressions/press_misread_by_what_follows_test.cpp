// Whoever stepped a plate that had been left to its time-out was said to have meant setup, although they wanted light; a module
// that had asked and been answered was taken for in setup; and who worked on at a plate after a power cut was not told of.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

void finds(const std::string& family, const std::string& script, const std::string& findings) {
  const Folder folder;
  const std::string file = folder.write(
      "told.yaml", "drybus: 1\ntitle: Told\nfamily: " + family +
                       "\nsite:\n  plates:\n    P1: {switches: {site: 23, zone: 4}}\n  modules:\n"
                       "    M1: {intended: 23/4/1}\n    M2: {intended: 23/4/2}\nscript:\n" +
                       script + "  - expect: {findings: " + findings + "}\n");
  const Ran ran = drybus_program("run " + file);
  CAPTURE(ran.out);
  CHECK(ran.err == "");
  CHECK(ran.exit_code == 0);
}

const std::string one_done =
    "  - {hold: P1 set, for: 2.7s}\n  - {hold: M1 local, for: 3.8s}\n  - press: P1 up\n  - press: P1 "
    "accept\n";

TEST_CASE("who wants light at a plate that was left to its time-out meant no setup") {
  finds("wired-keypad", one_done + "  - wait: 5min\n  - press: P1 up\n  - wait: 2s\n  - press: P1 off\n",
        "[unaddressed]");
  const std::string in_vain = "  - {hold: P1 set, for: 2.7s}\n  - press: P1 up\n  - press: P1 accept\n";
  finds("wired-keypad", in_vain + "  - wait: 5min\n  - press: P1 up\n", "[assign-unheard, unaddressed]");
}

TEST_CASE("who begins late had meant setup: nothing was offered yet") {
  finds("wired-keypad", "  - {hold: P1 set, for: 2.7s}\n  - wait: 5min\n  - press: P1 up\n",
        "[unaddressed, press-misread]");
}

TEST_CASE("who offers, holds a module or puts the plate in setup again had meant setup") {
  const std::string late = one_done + "  - wait: 5min\n  - press: P1 up\n";
  finds("wired-keypad", late + "  - press: P1 accept\n", "[unaddressed, press-misread]");
  finds("wired-keypad", late + "  - {hold: M2 local, for: 3.8s}\n", "[unaddressed, press-misread]");
  finds("wired-keypad", late + "  - {hold: P1 set, for: 2.7s}\n  - press: P1 two\n",
        "[unaddressed, press-misread]");
  finds("wired-keypad", late + "  - wait: 1h\n  - {hold: P1 set, for: 2.7s}\n  - press: P1 two\n",
        "[unaddressed]");
}

TEST_CASE("who works on after the power was cut takes the plate for in setup") {
  const std::string cut = one_done + "  - power: off\n  - wait: 3s\n  - power: on\n  - wait: 2s\n";
  finds("wired-keypad", cut + "  - press: P1 up\n  - press: P1 accept\n", "[unaddressed, press-misread]");
  finds("wired-keypad", cut + "  - press: P1 up\n  - press: P1 off\n", "[unaddressed]");
  finds("wired-keypad", cut + "  - press: P1 accept\n", "[unaddressed]");
}

TEST_CASE("a module that asked and was answered is out of setup, and everybody knows it") {
  const std::string both =
      "  - {hold: P1 learn, for: 2.8s}\n  - {hold: M1 probe, for: 2.4s}\n  - wait: 2s\n"
      "  - {hold: M2 probe, for: 2.4s}\n  - wait: 2s\n  - press: P1 learn\n  - wait: 5min\n";
  finds("asking-modules", both + "  - press: M1 probe\n", "none");
}

}  // namespace
