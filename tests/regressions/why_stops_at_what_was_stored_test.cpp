// Why ended at the press that recalled a scene, at the power that came back, at the raise: not at who had stored, set or not
// stopped what then showed. It told of "unknown telegram 0" where power had gone in mid-telegram, named one rival of a
// collision of three, took one of three plates in setup for the cause, and wrote scenarios that could not be read.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::Ran;

const std::string one_plate =
    "site:\n  plates:\n    P1: {switches: {site: 23, zone: 4}}\n"
    "  modules:\n    M1: {stored: 23/4/1, power_up: last}\n    M2: {stored: 23/4/2}\n";
const std::string three_plates =
    "site:\n  plates:\n    P1: {switches: {site: 23, zone: 4}}\n    P2: {switches: {site: 23, zone: 5}}\n"
    "    P3: {switches: {site: 23, zone: 6}}\n  modules:\n    M1: {stored: 23/4/1, power_up: last, "
    "last_level: 60%}\n";

class Story {
 public:
  explicit Story(const std::string& text, const std::string& family = "wired-keypad")
      : file_(
            folder_.write("told.yaml", "drybus: 1\ntitle: Told\nfamily: " + family + "\nseed: 1\n" + text)) {}

  Ran why(const std::string& question) {
    Ran ran = drybus_program("why " + file_ + " " + question);
    CAPTURE(ran.out);
    CHECK(ran.err == "");
    return ran;
  }
  const Folder& folder() { return folder_; }

 private:
  Folder folder_;
  std::string file_;
};

/// Where a line breaks is another matter.
void says(const Ran& ran, const std::string& words) {
  std::string joined;
  for (const char c : ran.out) {
    const char plain = c == '\n' ? ' ' : c;
    if (plain != ' ' || !joined.ends_with(' ')) joined += plain;
  }
  CAPTURE(joined);
  CAPTURE(words);
  CHECK(joined.find(words) != std::string::npos);
}

TEST_CASE("a recalled scene leads to the store that set it, and to what was so then") {
  Story story{
      one_plate +
      "script:\n  - press: P1 up\n  - wait: 2s\n  - {hold: P1 down, for: 3s}\n  - wait: 1s\n"
      "  - {hold: P1 two, for: 1.5s}\n  - press: P1 off\n  - wait: 2s\n  - press: P1 two\n  - wait: 2s\n"};
  const Ran ran = story.why("M1.level --prove");
  says(ran, "M1 heard \"store scene 2 in 23/4\" from P1");
  says(ran, "had P1 two not been held at");
  says(ran, "had P1 down not been held at");
  CHECK(ran.out.find("IDLE") == std::string::npos);
}

TEST_CASE("a level after a power cut leads to who had set it") {
  Story story{one_plate +
              "script:\n  - press: P1 accept\n  - wait: 2s\n  - power: {M1: off}\n  - wait: 1s\n"
              "  - power: {M1: on}\n  - wait: 1s\n"};
  const Ran ran = story.why("M1.level --prove");
  says(ran, "M1 heard \"recall scene 3 in 23/4\" from P1");
  says(ran, "had P1 accept not been pressed at");
  Story began{three_plates + "script:\n  - wait: 1s\n"};
  says(began.why("M1.level --prove"), "had its last level been 0 %");
}

TEST_CASE("a level that a power cut met half way leads to the cut, too") {
  Story story{one_plate +
              "others:\n  b: [{power: {M1: off}, at: 5.5s}, {power: {M1: on}, at: 8s}]\n"
              "script:\n  - press: P1 off\n  - wait: 2s\n  - press: P1 up\n    at: 5s\n  - wait: 5s\n"};
  const Ran ran = story.why("M1.level --prove");
  says(ran, "M1's power went");
  says(ran, "had M1 not been switched off at");
  says(ran, "had P1 up not been pressed at");
}

TEST_CASE("a raise leads to its stop, or to the stop that was lost") {
  const std::string raised =
      "script:\n  - press: P1 accept\n  - wait: 2s\n  - {hold: P1 up, for: 2s}\n  - wait: 8s\n";
  Story stopped{one_plate + raised};
  const Ran ran = stopped.why("M1.level --prove");
  says(ran, "M1 heard \"stop 23/4\" from P1");
  says(ran, "M1 heard \"recall scene 3 in 23/4\" from P1");
  Story lost{one_plate + "others:\n  vandal: [{fault: {open: P1-M1}, at: 4s}]\n" + raised};
  says(lost.why("M1.level --prove"), "had that telegram arrived");
}

TEST_CASE("a load that stayed as it was names the collision, with every rival") {
  const std::string at_once =
      "others:\n  a: [{press: P2 off, at: 10s}]\n  b: [{press: P3 off, at: 10s}]\n"
      "script:\n  - press: P1 off\n    at: 10s\n  - wait: 2s\n";
  Story story{three_plates + at_once};
  for (const std::string fact : {"M1.level", "M1.load"}) {
    const Ran ran = story.why(fact + " --prove");
    says(ran, "it collided with another telegram");
    says(ran, "proved: had that telegram arrived");
    says(ran, "only together make a difference:");
    says(ran, "had P2 off not been pressed at 0:10.0 and had P3 off not been pressed at 0:10.0");
  }
  const Ran finding = story.why("telegram-lost --prove");
  says(finding, "P2 sent \"off 23/5\" at the same time");
  says(finding, "P3 sent \"off 23/6\" at the same time");
}

TEST_CASE("a plate cut in mid-telegram has sent what it began") {
  Story story{one_plate +
              "others:\n  a: [{power: {P1: off}, at: 10.005s}]\nscript:\n  - press: P1 off\n    at: 10s\n"
              "  - wait: 2s\n"};
  const Ran ran = story.why("telegram-lost --prove");
  CHECK(ran.out.find("unknown telegram") == std::string::npos);
  says(ran, "P1 sent \"off 23/4\"");
  says(ran, "had P1 not been switched off at 0:10.0");
}

TEST_CASE("of three plates in setup none alone is the cause: the smallest sets are named") {
  Story story{three_plates +
              "script:\n  - {hold: P1 set, for: 2.7s}\n  - {hold: P2 set, for: 2.7s}\n"
              "  - {hold: P3 set, for: 2.7s}\n  - wait: 2s\n"};
  const Ran ran = story.why("two-plates-in-setup --prove");
  says(ran, "No single thing made it so");
  says(ran, "3 sets like that were found");
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("  1. ") == std::string::npos);
}

TEST_CASE("why goes on beyond the end of the script") {
  Story story{one_plate + "script:\n  - {hold: M1 local, for: 4s}\n"};
  says(story.why("M1.mode"), "M1 is in setup");
  says(story.why("M1.mode --until 10min"), "M1 is in normal mode, because its setup timed out at 2:33.5");
}

TEST_CASE(
    "what why not writes can be read: who comes too late for a step's hour does it when their turn comes") {
  Story story{one_plate +
              "script:\n  - {hold: P1 set, for: 2.7s, at: 10s}\n  - {press: P1 up, at: 16s}\n"
              "  - {press: P1 accept, at: 17s}\n  - wait: 1s\n"};
  const std::string other = story.folder().file("other.yaml");
  const Ran ran = story.why("M1.mode --not setup -o " + other);
  CHECK(ran.exit_code == 0);
  CHECK(drybus_program("run " + other).err == "");
}

TEST_CASE("no single change says which rule keeps the value out") {
  Story story{one_plate + "script:\n  - press: P1 up\n"};
  const Ran ran = story.why("M1.address --not 24/4/1");
  CHECK(ran.exit_code == 1);
  says(ran, "No plate of ours has site 24, zone 4");
  says(story.why("P1.zone --not 6"), "had P1's switches stood at site 23, zone 6 from the beginning");
}

TEST_CASE("what came about only without the nearest cause is told with the times of the run that there was") {
  const std::string two_ask =
      "site:\n  plates:\n    P1: {switches: {site: 52, zone: 6}}\n  modules:\n    M1: {intended: 52/6/1}\n"
      "    M2: {intended: 52/6/2}\nscript:\n  - {hold: M2 probe, for: 2.4s}\n  - {hold: P1 learn, for: "
      "2.8s}\n"
      "  - {hold: M1 probe, for: 2.4s}\n  - wait: 10s\n";
  const Ran ran = Story{two_ask, "asking-modules"}.why("M2.address");
  says(ran, "because it was put in setup at 0:02.0 (hold M2 probe for 2.4 s)");
}

TEST_CASE("an offer that was taken and lost is followed by none since then") {
  Story story{one_plate +
              "others:\n  mate:\n    - {power: {M1: off}, at: 20.05s}\n    - {power: {M1: on}, at: 30s}\n"
              "script:\n  - {hold: P1 set, for: 2.7s}\n  - {hold: M1 local, for: 3.8s}\n  - press: P1 up\n"
              "  - {press: P1 accept, at: 20s}\n  - wait: 20s\n"};
  const Ran ran = story.why("M1.address");
  says(ran, "after 0:20.0 nobody offered M1 an address");
}

TEST_CASE("who was forgotten has a cause, whatever was offered to others") {
  const std::string forgotten =
      "site:\n  plates:\n    P1: {switches: {site: 21, zone: 5}}\n  modules:\n    M1: {intended: 21/5/1}\n"
      "    M2: {intended: 21/5/2}\nscript:\n  - {hold: P1 tools c, for: 2.1s}\n  - press: P1 a\n"
      "  - {hold: M2 tap, for: 4.4s}\n  - press: P1 d\n  - press: M2 tap\n  - wait: 2s\n";
  Story story{forgotten, "confirming-modules"};
  const Ran ran = story.why("M1.address");
  says(ran, "because nobody had offered it one");
  says(ran, "and another module took it");
}

}  // namespace
