// Findings counted who hears whose plate instead of who reaches the module: a neighbour behind a wall was a danger and one whose
// signal came through was none; a module on another bus than its plate was in order; every broken link was named, and when
// one of two was mended the other's module stayed cut off with it. Of those who had been in setup, who had taken an address was
// not told, and who had no power was said to be in normal mode; "no module was in setup" though one was, too far away. Leaving setup by a hold counted as a press misread.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

/// What a run of the scenario says; with `findings` its checks hold.
std::string told(const std::string& family, const std::string& site, const std::string& script,
                 const std::string& findings) {
  const Folder folder;
  const std::string file =
      folder.write("told.yaml", "drybus: 1\ntitle: Told\nfamily: " + family + "\nseed: 1\nsite:\n" + site +
                                    script + "  - expect: {findings: " + findings + "}\n");
  const Ran ran = drybus_program("run " + file);
  CAPTURE(ran.out);
  CHECK(ran.err == "");
  CHECK(ran.exit_code == 0);
  std::string words;  // as one line: where a line breaks is another matter
  for (const char c : ran.out) words += c == '\n' || (c == ' ' && words.ends_with(' ')) ? ' ' : c;
  std::string joined;
  for (const char c : words) {
    if (c != ' ' || !joined.ends_with(' ')) joined += c;
  }
  return joined;
}

bool says(const std::string& text, const std::string& words) {
  return text.find(words) != std::string::npos;
}

const std::string two_flats =
    "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n"
    "    N1: {switches: {site: 23, zone: 4}, neighbour: yes}\n"
    "  modules:\n    M1: {stored: 23/4/1}\n    N2: {stored: 23/4/1, neighbour: yes}\n";

TEST_CASE("a neighbour's plate is a danger where it reaches a module, not where it reaches a plate") {
  told("radio-keypad", two_flats + "  bus: {radio: all, blocked: [P1-N1, P1-N2]}\n",
       "script:\n  - press: P1 glow\n", "[shared-address, site-overlap]");
  told("radio-keypad", two_flats + "  bus: {radio: all, blocked: [N1-M1, P1-N2]}\n",
       "script:\n  - press: P1 glow\n", "none");
}

const std::string two_plates =
    "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n    P2: {switches: {site: 23, zone: 5}}\n"
    "  modules:\n    M1: {stored: 23/4/1}\n    M2: {stored: 23/5/1}\n";
const std::string both_in_setup =
    "script:\n  - {hold: P1 mark scene, for: 2.4s}\n  - {hold: P2 mark scene, for: 2.4s}\n"
    "  - press: P1 scene\n  - press: P2 scene\n";

TEST_CASE("two plates in setup disturb each other at a module that hears both") {
  told("radio-keypad", two_plates + "  bus: {radio: all, blocked: [P1-P2]}\n", both_in_setup,
       "[two-plates-in-setup]");
  told("radio-keypad", two_plates + "  bus: {radio: all, blocked: [P1-M2, P2-M1]}\n", both_in_setup, "none");
}

TEST_CASE("a module on another bus than its plate is out of reach, until a plate of its own is there") {
  const std::string apart = "  bus: [{line: [P1, M1]}, {line: [P2, M2]}]\n";
  const std::string press = "script:\n  - press: P1 up\n  - wait: 1s\n";
  std::string wrong = two_plates;
  wrong.replace(wrong.find("stored: 23/5/1"), 14, "stored: 23/4/2");
  const std::string text = told("wired-keypad", wrong + apart, press, "[out-of-reach]");
  CHECK(says(text, "P1 cannot reach M2"));
  CHECK(says(text, "M2 is on another bus, where no plate has its site and zone."));
  CHECK(says(text, "address it from a plate on its own bus"));
  told("wired-keypad", two_plates + apart, press, "none");
  std::string same_number = wrong;
  same_number.replace(same_number.find("zone: 5"), 7, "zone: 4");
  told("wired-keypad", same_number + apart, press, "none");
  told("wired-keypad", wrong + apart, press + "  - switches: {P2: {zone: 4}}\n  - wait: 1s\n",
       "[out-of-reach]");
}

TEST_CASE("only the broken link on the way is named, and who is reached again is out of it") {
  const std::string tree =
      "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n"
      "  modules:\n    M1: {stored: 23/4/1}\n    M2: {stored: 23/4/2}\n    M3: {stored: 23/9/1}\n    M4: "
      "{stored: 23/4/4}\n"
      "  bus: {tree: [P1-M1, P1-M2, M2-M3, P1-M4]}\n";
  const std::string text =
      told("wired-keypad", tree,
           "script:\n  - fault: {open: M2-M3}\n  - fault: {open: P1-M1}\n  - press: P1 up\n  - wait: 1s\n",
           "[orphan-address, out-of-reach]");
  CHECK(says(text, "Link P1-M1 was open"));
  CHECK_FALSE(says(text, "Link M2-M3 was open"));
  const std::string mended =
      told("wired-keypad", tree,
           "script:\n  - fault: {open: P1-M4}\n  - fault: {open: P1-M1}\n  - press: P1 up\n  - wait: 1s\n"
           "  - fault: {mend: P1-M1}\n  - wait: 1s\n",
           "[orphan-address, out-of-reach]");
  CHECK(says(mended, "P1 could not reach M1:"));
  CHECK(says(mended, "P1 cannot reach M4:"));
}

TEST_CASE("who is reached by a neighbour's plate is not beyond everybody's reach") {
  const std::string site =
      "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n"
      "    N1: {switches: {site: 30, zone: 7}, neighbour: yes}\n";
  const std::string press = "script:\n  - press: P1 up\n";
  told("wired-keypad", site + "  modules: {M1: {intended: 23/4/1, stored: 30/7/1}}\n", press,
       "[wrong-address]");
  const std::string text =
      told("wired-keypad", site + "  modules: {M1: {stored: 30/7/1}}\n", press, "[orphan-address]");
  CHECK_FALSE(says(text, "none can reach it"));
  CHECK(says(text, "only the neighbour's N1 can reach it"));
}

TEST_CASE("an offer that nobody took tells of everybody who is or was in setup") {
  const std::string site =
      "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n"
      "  modules:\n    M1: {intended: 23/4/1}\n    M2: {intended: 23/4/2}\n    M3: {intended: 23/4/3}\n"
      "    M4: {intended: 23/4/4}\n";
  const std::string text = told(
      "wired-keypad", site,
      "script:\n  - {hold: P1 set, for: 3s}\n  - {hold: M1 local, for: 4s}\n  - press: P1 up\n  - press: "
      "P1 accept\n"
      "  - wait: 1s\n  - {hold: M2 local, for: 4s}\n  - press: M2 local\n  - {hold: M3 local, for: 4s}\n"
      "  - power: {M3: off}\n  - press: P1 up\n  - press: P1 accept\n  - wait: 1s\n",
      "[assign-unheard, setup-split, unaddressed]");
  CHECK(says(text, "M2 was in normal mode. At"));
  CHECK(says(text, "M3 had no power. At"));
  CHECK(says(text, "M1 was in normal mode. At"));
  CHECK_FALSE(says(text, "M4 was in normal mode"));
  CHECK(says(text, "Remedy: See that M2 blinks"));
}

TEST_CASE("who leaves setup by a hold has misread nothing") {
  const std::string site =
      "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n  modules:\n    M1: {stored: 23/4/1}\n";
  told("wired-keypad", site,
       "script:\n  - {hold: M1 local, for: 4s}\n  - {hold: M1 local, for: 4s}\n  - press: M1 local\n",
       "none");
  told("wired-keypad", site,
       "script:\n  - {hold: P1 set, for: 3s}\n  - {hold: P1 two, for: 2s}\n  - press: P1 up\n", "none");
  // It timed out meanwhile: then the hold puts it in setup, which is what a hold is for.
  told("wired-keypad", site,
       "script:\n  - {hold: M1 local, for: 4s}\n  - wait: 190s\n  - {hold: M1 local, for: 4s}\n  - "
       "press: M1 local\n",
       "none");
  // Nobody knew that it was in setup.
  told("wired-keypad", site,
       "others:\n  visitor: [{hold: M1 local, for: 4s}]\nscript:\n  - wait: 10s\n  - {hold: M1 local, for: "
       "4s}\n",
       "[press-misread]");
}

TEST_CASE("what comes at the moment of a time-out does not depend on how the step got there") {
  const std::string site =
      "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n  modules:\n    M1: {stored: 23/4/1}\n";
  // In setup from 3.5 s on, and so until 153.5 s. The time-out was due before any hand came.
  const std::string in_setup = "  visitor:\n    - {hold: M1 local, for: 4s}\n";
  const std::string watched = "script:\n  - expect: {M1.mode: normal}\n    at: 153.5s\n";
  told("wired-keypad", site, "others:\n" + in_setup + watched, "none");
  told("wired-keypad", site,
       "others:\n" + in_setup + "script:\n  - wait: 153.5s\n  - expect: {M1.mode: normal}\n", "none");
  told("wired-keypad", site,
       "others:\n" + in_setup + "script:\n  - wait: 100s\n  - wait: 53.5s\n  - expect: {M1.mode: normal}\n",
       "none");
}

TEST_CASE("a module that waits in setup out of the plate's reach is told of where an offer is") {
  const std::string text =
      told("radio-keypad",
           "  plates:\n    P1: {switches: {site: 23, zone: 4}}\n"
           "  modules:\n    M1: {stored: 23/4/1}\n    M2: {intended: 23/4/2}\n"
           "  bus: {radio: all, blocked: [P1-M2]}\n",
           "script:\n  - {hold: M2 pad, for: 6s}\n  - {hold: P1 mark scene, for: 2.4s}\n"
           "  - press: P1 plus\n  - press: P1 plus\n  - press: P1 mark\n  - press: P1 scene\n",
           "[unaddressed, out-of-reach, assign-unheard]");
  CHECK(says(text, "nobody took it. At 0:10.0 M2 missed"));
  CHECK_FALSE(says(text, "No module was in setup"));
}

}  // namespace
