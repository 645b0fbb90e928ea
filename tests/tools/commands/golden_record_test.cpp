// A release's golden record: check --observables, compare --within and --known, and what a hunt leaves as a regression test.
#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <filesystem>
#include <set>
#include <sstream>
#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;
namespace json = boost::json;

std::string library(const std::string& name) {
  return (std::filesystem::path{DRYBUS_PROGRAM}.parent_path() / "firmware" / (name + ".so")).string();
}

void says(const std::string& text, const std::string& what) {
  CHECK_MESSAGE(text.find(what) != std::string::npos, text);
}

const std::string one_press =
    "drybus: 1\ntitle: A plate is pressed\nfamily: wired-keypad\nseed: 3\nsite:\n  places: {hall: {}}\n"
    "  plates: {P1: {place: hall, switches: {site: 23, zone: 4}}}\n"
    "  modules: {M1: {place: hall, intended: 23/4/1}, M2: {place: hall, intended: 23/4/2}}\n"
    "  bus: {line: [P1, M1, M2]}\nscript:\n  - press: P1 off\n  - wait: 1s\n";

/// Lines of compare that have something in both columns, and the same.
std::size_t lines_with_both_sides_alike(const std::string& text) {
  std::istringstream lines{text};
  std::size_t alike = 0;
  for (std::string line; std::getline(lines, line);) {
    const std::size_t bar = line.find("| ");
    if (bar == std::string::npos) continue;
    std::string left = line.substr(2, bar - 2);
    left.erase(left.find_last_not_of(' ') + 1);
    if (!left.empty() && left == line.substr(bar + 2)) ++alike;
  }
  return alike;
}

}  // namespace

TEST_SUITE("observed") {
  TEST_CASE("check stores what could be seen and heard, and holds a later build against it") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", one_press);
    const std::string golden = " --observables " + folder.file("golden.json");
    const std::string longer = " --firmware module=" + library("planted_9");
    const Ran stored = drybus_program("check " + scenario + golden);
    CHECK(stored.exit_code == 0);
    says(stored.err, "stored what could be seen and heard of 1 scenario in ");
    CHECK(drybus_program("check " + scenario + golden).exit_code == 0);
    CHECK(drybus_program("check " + scenario + golden + " --firmware " + library("reference")).exit_code == 0);

    const std::string before = content_of(folder.file("golden.json"));
    const Ran moved = drybus_program("check " + scenario + golden + longer);
    CHECK(moved.exit_code == 1);
    says(moved.out, "not as it was: M1: indicator dark was at 0:00.6");
    CHECK(content_of(folder.file("golden.json")) == before);
    CHECK(drybus_program("check " + scenario + golden + longer + " --within 20ms").exit_code == 0);
    CHECK(drybus_program("check " + scenario + golden + longer + " --within 11ms").exit_code == 1);
    CHECK(drybus_program("check " + scenario + golden + " --seed 4").exit_code == 1);

    const std::string known =
        folder.write("known.yaml", "drybus-known: 1\nknown:\n  - {reason: longer since 2.1, is: indicator dark}\n"
                                   "  - {reason: of old, device: P7}\n");
    const Ran as_known = drybus_program("check " + scenario + golden + longer + " --known " + known);
    CHECK(as_known.exit_code == 0);
    says(as_known.out, "known: M1: indicator dark was at");
    says(as_known.out, "(longer since 2.1)");
    says(as_known.err, "known.yaml:4: nothing of it was met: of old");

    const Ran accepted = drybus_program("check " + scenario + golden + longer + " --accept");
    CHECK(accepted.exit_code == 0);
    says(accepted.err, "moved  " + scenario + ": M1: indicator dark was at");
    CHECK(drybus_program("check " + scenario + golden + longer).exit_code == 0);
    const Ran other = drybus_program("check " + folder.write("b.yaml", one_press) + golden);
    CHECK(other.exit_code == 1);
    says(other.out, "nothing is stored of it");
    CHECK(drybus_program("check " + scenario + " --observables " + scenario).exit_code == 2);
    CHECK(drybus_program("check " + scenario + " --within 20ms").exit_code == 2);
  }

  TEST_CASE("compare is patient within a time, takes known differences, and tells no line on both sides") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", one_press);
    const std::string pair = " --firmware built-in --firmware module=" + library("planted_9");
    const Ran parted = drybus_program("compare " + scenario + pair);
    CHECK(parted.exit_code == 1);
    CHECK(lines_with_both_sides_alike(parted.out) == 0);
    says(parted.out, "both: < ");
    CHECK(drybus_program("compare " + scenario + pair + " --within 20ms").exit_code == 0);
    CHECK(drybus_program("compare " + scenario + pair + " --within 11ms").exit_code == 1);
    const std::string known = folder.write(
        "known.yaml", "drybus-known: 1\nknown:\n  - {reason: longer since 2.1, was: indicator dark}\n");
    const Ran as_known = drybus_program("compare " + scenario + pair + " --known " + known + " --format json");
    CHECK(as_known.exit_code == 0);
    const json::value told = json::parse(as_known.out).at("scenarios").at(0);
    CHECK(told.at("same").as_bool());
    CHECK(told.at("known").as_array().size() == 2);
    CHECK(told.at("known").at(0).at("reason") == "longer since 2.1");
    for (int mistake = 1; mistake <= 8; ++mistake) {
      CAPTURE(mistake);
      const Ran ran = drybus_program("compare scenarios/regression --firmware " + library("reference") +
                                     " --firmware " + library("planted_" + std::to_string(mistake)));
      CHECK(ran.exit_code == 1);
      CHECK(lines_with_both_sides_alike(ran.out) == 0);
    }
  }

  TEST_CASE("where a firmware parts from the tables of its family the row is named") {
    const std::string tables = "compare scenarios/regression/tables-wired-keypad.yaml --firmware built-in --firmware ";
    const Ran ran = drybus_program(tables + library("planted_2"));
    CHECK(ran.exit_code == 1);
    says(ran.out, ": setup, identify pressed: send identify");
    const Ran told = drybus_program(tables + library("planted_5") + " --format json");
    const json::value parsed = json::parse(told.out);
    const json::array& rows = parsed.at("scenarios").at(0).at("rows").as_array();
    REQUIRE(rows.size() == 1);
    says(std::string{rows[0].as_string()}, ": any, power on: if power-up last: wake blips, light last level");
    // Two firmwares: nobody's tables are asked.
    const Ran both = drybus_program("compare scenarios/regression/tables-wired-keypad.yaml --firmware " +
                                    library("reference") + " --firmware " + library("planted_2"));
    CHECK(both.out.find("the family's line") == std::string::npos);
  }

  TEST_CASE("what compare --hunt writes passes without the mistake and fails with it") {
    const Folder folder;
    const std::string start = folder.write("start.yaml", one_press);
    for (const int mistake : {1, 2, 3, 7, 8, 9}) {
      CAPTURE(mistake);
      const std::string found = folder.file("found" + std::to_string(mistake) + ".yaml");
      const std::string good = " --firmware " + library("reference");
      const std::string bad = " --firmware " + library("planted_" + std::to_string(mistake));
      // Blips are longer from the first telegram on: then the scenario itself tells the two apart.
      const std::string from = mistake == 9 ? folder.write("quiet.yaml", [] {
        std::string text = one_press;
        return text.replace(text.find("  - press: P1 off\n"), 18, "");
      }())
                                            : start;
      CHECK(drybus_program("compare " + from + " --hunt -o " + found + good + bad).exit_code == 1);
      CHECK(drybus_program("check " + found + good).exit_code == 0);
      CHECK(drybus_program("check " + found + bad).exit_code == 1);
    }
  }

  TEST_CASE("where only telegrams differ, what could be heard is stored beside the scenario that was found") {
    const Folder folder;
    const std::string start = folder.write(
        "start.yaml", "drybus: 1\nfamily: wired-keypad\nsite:\n  plates: {P1: {switches: {site: 23, zone: 4}}}\n"
                      "  modules: {}\nscript:\n  - hold: P1 set\n    for: 3s\n  - press: P1 up\n  - press: P1 up\n"
                      "  - press: P1 down\n");
    const std::string good = " --firmware plate=" + library("reference");
    const std::string bad = " --firmware plate=" + library("planted_3");
    const std::string found = folder.file("found.yaml");
    const Ran ran = drybus_program("compare " + start + " --hunt -o " + found + good + bad);
    if (ran.out.find("it passes with A and fails with B") == std::string::npos) FAIL_CHECK(ran.out << ran.err);
    const bool beside = std::filesystem::exists(folder.file("found.observables.json"));
    const std::string held = beside ? " --observables " + folder.file("found.observables.json") : "";
    CHECK(drybus_program("check " + found + held + good).exit_code == 0);
    CHECK(drybus_program("check " + found + held + bad).exit_code == 1);
  }
}
