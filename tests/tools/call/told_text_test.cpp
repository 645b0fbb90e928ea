// What is told in a call goes into the text of its file and out again, and leaves the rest as it was.
#include "tools/call/told_text.h"

#include <doctest/doctest.h>

#include <filesystem>

#include "tools/call/call_file.h"

namespace {

using namespace drybus;
using namespace drybus::tools;

const std::string head =
    "drybus-report: 1  # by hand\n"
    "family: wired-keypad\n"
    "site:\n"
    "  places: {hall: {}, attic: {walk: {hall: 40s}}}\n"
    "  plates: {P1: {label: Hall plate, place: hall, switches: 23/4}}\n"
    "  modules:\n"
    "    M1: {label: Hall pendant, place: hall, intended: 23/4/1, stored: 23/4/1}\n"
    "    M2: {label: Attic spots, place: attic, intended: 23/4/2, stored: 23/4/2}\n";

const std::filesystem::path place = std::filesystem::path{DRYBUS_SOURCE_DIR} / "scenarios/reports/told.yaml";

LoadedReport read(const std::string& text) {
  auto reading = read_report_text(text, place);
  REQUIRE_MESSAGE(reading.ok(), to_text(reading.problems()));
  return std::move(reading.value());
}

std::string with(const std::string& text, const std::string& sentence,
                 std::optional<std::size_t> before = {}) {
  const LoadedReport report = read(text);
  const auto told = ToldText{report, text, place.string()}.with(sentence, before);
  REQUIRE_MESSAGE(told.has_value(), told.error().message);
  read(*told);
  return *told;
}

std::string refused(const std::string& text, const std::string& sentence) {
  const LoadedReport report = read(text);
  const auto told = ToldText{report, text, place.string()}.with(sentence);
  return told ? std::string{} : told.error().message;
}

std::vector<std::string> words_of(const std::string& text) {
  const LoadedReport report = read(text);
  std::vector<std::string> words;
  const ToldText told{report, text, place.string()};
  for (const CallNote& note : told.entries())
    words.push_back(std::string{to_string(note.kind)} + ": " + (note.unsure ? "perhaps " : "") + note.text);
  return words;
}

TEST_CASE("sentences become entries of the report, in their order, and are read back in labels") {
  std::string text = head + "script: []\n";
  for (const char* sentence :
       {"press hall plate up", "wait about 2 s", "perhaps Attic spots is off", "the lamp of M1 is steady",
        "addressed Hall pendant, Attic spots with Hall plate", "perhaps hold M2 local for 4s", "go to attic",
        "power off", "Hall plate switches show 23/5", "Attic spots never reacts",
        "complaint attic spots is off"})
    text = with(text, sentence);
  CHECK(text.starts_with(head));
  CHECK(words_of(text) == std::vector<std::string>{
                              "done: press Hall plate up", "done: wait about 2 s",
                              "seen: perhaps Attic spots is off", "seen: the lamp of Hall pendant is steady",
                              "done: addressed Hall pendant, Attic spots with Hall plate",
                              "done: perhaps hold Attic spots local for 4s", "done: go to attic",
                              "done: power off", "seen: Hall plate.switches 23/5",
                              "never: Attic spots never reacts", "complaint: Attic spots is off"});
  const LoadedReport report = read(text);
  CHECK(report.call.believed.site.plates[0].zone == 5);
  CHECK(report.call.unsure_steps.size() == 1);
  CHECK(report.call.seen[0].unsure);
}

TEST_CASE("a sentence comes before another one where that is wanted") {
  std::string text = with(head + "script: []\n", "press Hall plate up");
  text = with(text, "press Hall plate down", 0);
  CHECK(words_of(text) ==
        std::vector<std::string>{"done: press Hall plate down", "done: press Hall plate up"});
}

TEST_CASE("what is done after something was seen now makes that something that was seen then") {
  const std::string text = head + "script:\n- press: P1 up\nseen:\n- {M1.load: lit, unsure: yes}\n";
  CHECK(words_of(with(text, "Attic spots blinks")).back() == "seen: the lamp of Attic spots blinks");
  CHECK(with(text, "Attic spots blinks").find("\n- {M2.indicator: blink}\n") != std::string::npos);
  const std::string gone_on = with(text, "press Hall plate down");
  CHECK(words_of(gone_on) == std::vector<std::string>{"done: press Hall plate up",
                                                      "seen: perhaps Hall pendant is on",
                                                      "done: press Hall plate down"});
  CHECK(read(gone_on).call.seen.front().after_step == 0);
}

TEST_CASE("they call for one thing: said again it takes the place of the first") {
  std::string text = with(head + "script: []\n", "complaint Hall pendant never reacts");
  text = with(text, "complaint Attic spots is on");
  CHECK(words_of(text) == std::vector<std::string>{"complaint: Attic spots is on"});
}

TEST_CASE("an entry goes out again, and nothing is left of it") {
  const std::string empty = head + "script: []\n";
  for (const char* sentence : {"press Hall plate up", "perhaps Attic spots is off", "Attic spots never blips",
                               "complaint Attic spots is off"}) {
    CAPTURE(sentence);
    const std::string text = with(empty, sentence);
    const LoadedReport report = read(text);
    const auto without = ToldText{report, text, place.string()}.without(0);
    REQUIRE(without.has_value());
    CHECK(*without == empty);
  }
}

TEST_CASE("an entry is marked as unsure and sure again, however it was written") {
  for (const char* step :
       {"  - {press: \"P1 up\"}\n", "  - press: P1 up\n", "  - hold: P1 set\n    for: 3s\n",
        "  - seen: {M1.load: lit}\n", "  - {seen: {M1.load: lit}}\n"}) {
    CAPTURE(step);
    const std::string text = head + "script:\n  - wait: 1s\n" + step + "  - wait: 2s\n";
    const LoadedReport report = read(text);
    const auto marked = ToldText{report, text, place.string()}.marked(1, true);
    REQUIRE(marked.has_value());
    const LoadedReport unsure = read(*marked);
    const ToldText told{unsure, *marked, place.string()};
    CHECK(told.entries()[1].unsure);
    CHECK(told.entries().size() == 3);
    CHECK(*told.marked(1, false) == text);
  }
}

TEST_CASE("what a sentence lacks is said, and lists in a style of their author's are left to them") {
  const std::string empty = head + "script: []\n";
  CHECK(refused(empty, "Cellar is on").find("Cellar") != std::string::npos);
  CHECK(refused(empty, "hold Hall plate set").find("not understood") != std::string::npos);
  CHECK(refused(empty, "complaint press Hall plate up") == "they call for something that is seen");
  CHECK_FALSE(refused(head + "script: [{press: P1 up}]\n", "press Hall plate down").empty());
  const std::string flow = head + "script: [{press: P1 up}]\n";
  const LoadedReport report = read(flow);
  CHECK_FALSE(ToldText{report, flow, place.string()}.without(0).has_value());
}

TEST_CASE("a title is put in the place of another, or where one belongs") {
  CHECK(with_title("drybus-report: 1\ntitle: old\nsite: x\n", "new \"one\"") ==
        "drybus-report: 1\ntitle: \"new \\\"one\\\"\"\nsite: x\n");
  CHECK(with_title("drybus-report: 1\nsite: x\n", "new") == "drybus-report: 1\ntitle: \"new\"\nsite: x\n");
  CHECK_FALSE(with_title("drybus-report: 1\ntitle: |\n  old\nsite: x\n", "new"));
}

TEST_CASE("what is said meanwhile is an answer that nobody asked for") {
  const LoadedReport report = read(head + "script: []\n");
  const model::Site& site = report.call.believed.site;
  CHECK(*remark_of(site, "Attic spots blinks") ==
        "- check: \"Seen meanwhile\"\n  answer: something else\n  seen: {M2.indicator: blink}\n");
  CHECK(*remark_of(site, "press Hall plate up") ==
        "- check: \"Done meanwhile\"\n  answer: something else\n  steps: [{press: \"Hall plate up\"}]\n");
  CHECK_FALSE(remark_of(site, "Attic spots never reacts").has_value());
}

}  // namespace
