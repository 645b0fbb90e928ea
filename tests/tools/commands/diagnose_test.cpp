#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
using drybus::tests::shell;
namespace fs = std::filesystem;
namespace json = boost::json;

constexpr auto attic = "scenarios/reports/gave-up-in-the-attic.yaml";
constexpr auto fourth = "scenarios/reports/the-fourth-just-sits-there.yaml";

TEST_CASE("diagnose names the cause, what it explains and the next check") {
  const Ran ran = drybus_program(std::string{"diagnose "} + attic);
  CHECK(ran.exit_code == 0);
  CHECK(ran.err.empty());
  CHECK(has(ran.out, "1. "));
  CHECK(has(ran.out, "the wait took longer than told") != has(ran.out, "The wait took longer than told"));
  CHECK(has(ran.out, "explains: M2's load is lit"));
  CHECK(has(ran.out, "None of these: "));
}

TEST_CASE("diagnose as JSON has probabilities that add up to one, with what is unexplained") {
  const Ran ran = drybus_program(std::string{"diagnose "} + fourth + " --format json");
  REQUIRE(ran.exit_code == 0);
  const json::value answer = json::parse(ran.out);
  double sum = answer.at("unexplained").to_number<double>();
  for (const json::value& each : answer.at("explanations").as_array()) {
    sum += each.at("probability").to_number<double>();
    CHECK_FALSE(each.at("text").as_string().empty());
    CHECK(each.at("faults").is_array());
  }
  CHECK(sum <= 1.0 + 1e-9);
  CHECK(sum > 0.9);  // a few explanations beyond those told have the rest
  CHECK(answer.at("explored").to_number<double>() > 0.5);
  CHECK(answer.as_object().contains("next_check"));
}

TEST_CASE("the same report is diagnosed alike every time") {
  const std::string command = std::string{"diagnose "} + fourth + " --format json";
  CHECK(drybus_program(command).out == drybus_program(command).out);
}

TEST_CASE("a dialogue replays from a file of answers, and each answer narrows the list") {
  const Folder folder;
  const std::string report = "scenarios/reports/two-answer-as-one.yaml";
  const Ran none =
      drybus_program("diagnose " + report + " --format json --answers " + folder.write("none.txt", ""));
  REQUIRE(none.exit_code == 0);
  const json::value before = json::parse(none.out);
  if (before.at("next_check").is_null()) return;  // sure enough without a check
  const Ran one = drybus_program("diagnose " + report + " --format json --answers " +
                                 folder.write("one.txt", "# first\n1\n"));
  REQUIRE(one.exit_code == 0);
  const json::value after = json::parse(one.out);
  CHECK(after.at("dialogue").as_array().size() == 1);
  CHECK(after.at("dialogue").at(0).at("outcome").at(0).as_string() ==
        before.at("next_check").at("outcomes").at(0).at("text").as_string());
  CHECK(after.at("explanations").at(0).at("probability").to_number<double>() >
        before.at("explanations").at(0).at("probability").to_number<double>());
}

TEST_CASE("an answer that is none is refused with its line") {
  const Folder folder;
  const Ran ran =
      drybus_program(std::string{"diagnose "} + fourth + " --answers " + folder.write("bad.txt", "99\n"));
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "bad.txt:1: '99' is none of the answers"));
}

TEST_CASE(
    "an answer that would play with the terminal is told without its control characters, and not at length") {
  const Folder folder;
  const Ran ran = drybus_program(std::string{"diagnose "} + fourth + " --answers " +
                                 folder.write("odd.txt", "\x1b[2J" + std::string(5'000, 'x') + "\n"));
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "odd.txt:1: '?[2Jxxx"));
  CHECK(ran.err.size() < 500);
  CHECK_FALSE(has(ran.out + ran.err, "\x1b"));
}

TEST_CASE("a dialogue at the terminal ends when nobody answers any more") {
  const Ran ran = shell(std::string{"echo '?' | drybus diagnose "} + fourth + " --ask");
  CHECK(ran.exit_code == 0);
  CHECK(has(ran.out, "?) it cannot be done"));
}

TEST_CASE("each explanation is written as a scenario that passes") {
  const Folder folder;
  const Ran ran = drybus_program(std::string{"diagnose "} + attic + " --scenarios " + folder.file("out"));
  CHECK(ran.exit_code == 0);
  REQUIRE(fs::exists(folder.file("out/explanation-1.yaml")));
  const Ran check = drybus_program("check " + folder.file("out"));
  CAPTURE(check.out);
  CHECK(check.exit_code == 0);
}

TEST_CASE("a capture of the bus narrows a report") {
  const Folder folder;
  // Somebody says that two presses were made; the capture of what really went over the bus has one.
  const std::string site =
      "family: wired-keypad\nsite:\n  plates: {P1: {switches: {site: 23, zone: 4}}}\n"
      "  modules: {M1: {stored: 23/4/1}}\n  bus: {line: [P1, M1]}\n";
  const std::string real = folder.write(
      "real.yaml", "drybus: 1\n" + site + "script: [{wait: 2s}, {press: P1 down}, {wait: 2s}]\n");
  const std::string told = folder.write(
      "told.yaml",
      "drybus-report: 1\n" + site +
          "script: [{press: P1 up}, {wait: 2s}, {press: P1 down}, {wait: 2s}]\nseen: {M1.load: dark}\n");
  REQUIRE(drybus_program("run " + real + " --record " + folder.file("real.jsonl")).exit_code == 0);
  const Ran without = drybus_program("diagnose " + told + " --format json");
  const Ran with =
      drybus_program("diagnose " + told + " --format json --capture " + folder.file("real.jsonl"));
  CAPTURE(with.err);
  REQUIRE(with.exit_code == 0);
  CHECK(json::parse(without.out).at("explanations").at(0).at("faults").as_array().empty());
  // A button that is stuck would have left the same capture; the press that was forgotten is among the first two.
  const json::value told_more = json::parse(with.out);
  bool forgotten = false;
  for (std::size_t i = 0; i < 2; ++i) {
    const json::array& faults = told_more.at("explanations").at(i).at("faults").as_array();
    forgotten = forgotten || (!faults.empty() && faults[0].at("cause").as_string() == "forgot");
  }
  CHECK(forgotten);
}

TEST_CASE("what cannot be diagnosed is refused") {
  CHECK(drybus_program("diagnose scenarios/training/setup-split.yaml").exit_code == 2);
  CHECK(drybus_program("diagnose no-such-file.yaml").exit_code == 2);
  CHECK(drybus_program("diagnose").exit_code == 2);
  CHECK(drybus_program(std::string{"diagnose "} + attic + " --capture no-such-file").exit_code == 2);
  CHECK(drybus_program(std::string{"diagnose "} + attic + " --ask --format json").exit_code == 2);
}

TEST_CASE("check passes by reports, which are no scenarios") {
  const Ran ran = drybus_program("check scenarios/reports");
  CHECK(ran.exit_code == 0);
  CHECK_FALSE(has(ran.out, "gave-up-in-the-attic"));
}

}  // namespace
