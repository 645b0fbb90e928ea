#include <doctest/doctest.h>

#include <boost/json.hpp>
#include <filesystem>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/text.h"

namespace {

using drybus::tests::content_of;
using drybus::tests::drybus_program;
using drybus::tests::Folder;
using drybus::tests::has;
using drybus::tests::Ran;
using drybus::tests::shell;
namespace fs = std::filesystem;
namespace json = boost::json;

/// A call of few words, in a folder of its own.
constexpr auto short_call =
    "drybus-report: 1\n"
    "title: The fourth just sits there\n"
    "family: wired-keypad\n"
    "site: {plates: {P1: {label: Door plate, switches: 12/2}}, modules: [Table, Wall, Screen, Entrance]}\n"
    "script:\n"
    "  - addressed: {with: P1, modules: [Table, Wall, Screen]}\n"
    "  - {addressed: {with: P1, modules: Entrance}, unsure: yes}\n"
    "seen: {Table: on, Wall: on, Screen: on}\n"
    "complaint: {never: Entrance reacts}\n";

/// Something seen that is told in so many words.
constexpr auto blips = "something else\\nthe lamp of Entrance blips\\n";

/// With these lines on its standard input.
Ran call(const std::string& file, const std::string& lines, const std::string& more = "") {
  return shell("printf '" + lines + "' | drybus call '" + file + "' " + more);
}

json::object state(const std::string& file, const std::string& lines = "") {
  const Ran ran = call(file, lines, "--format json");
  CAPTURE(ran.out);
  CAPTURE(ran.err);
  REQUIRE(ran.exit_code == 0);
  return json::parse(ran.out).as_object();
}

std::string question_of(const json::object& state) {
  const json::value& question = state.at("question");
  return question.is_null() ? std::string{state.at("step").at("text").as_string()}
                            : std::string{question.as_string()};
}

TEST_CASE("call says what it is for") {
  const Ran ran = drybus_program("call --help");
  CHECK(ran.exit_code == 0);
  CHECK(has(ran.out, "drybus call [FILE]"));
}

TEST_CASE("a call stops where its input ends, is whole, and goes on with the same question") {
  const Folder folder;
  const std::string file = folder.write("call.yaml", short_call);
  const json::object first = state(file);
  CHECK(content_of(file) == short_call);
  CHECK(first.at("answers").to_number<int>() == 0);
  REQUIRE_FALSE(first.at("choices").as_array().empty());
  const json::object second = state(file, blips);
  CHECK(second.at("answers").to_number<int>() == 1);
  CHECK(content_of(file).starts_with(short_call));
  CHECK(question_of(second) != question_of(first));
  // Another process comes to the same question.
  CHECK(question_of(state(file)) == question_of(second));
  // A step back is as it was.
  const json::object back = state(file, "back\\n");
  CHECK(back.at("answers").to_number<int>() == 0);
  CHECK(question_of(back) == question_of(first));
  const Ran told = call(file, "");
  CHECK(told.exit_code == 0);
  CHECK(has(told.out, "To go on: drybus call"));
}

TEST_CASE("diagnose and recover take a call with its answers") {
  const Folder folder;
  const std::string file = folder.write("call.yaml", short_call);
  const Ran before = drybus_program("diagnose '" + file + "' --format json");
  REQUIRE(before.exit_code == 0);
  state(file, blips);
  const Ran after = drybus_program("diagnose '" + file + "' --format json");
  REQUIRE(after.exit_code == 0);
  CHECK(before.out != after.out);
  CHECK(drybus_program("recover '" + file + "'").exit_code == 0);
  // What they write of it can be run.
  CHECK(drybus_program("diagnose '" + file + "' --scenarios '" + folder.file("all") + "'").exit_code == 0);
  CHECK(drybus_program("recover '" + file + "' -o '" + folder.file("all/cured.yaml") + "'").exit_code == 0);
  const Ran check = drybus_program("check '" + folder.file("all") + "'");
  CHECK_MESSAGE(check.exit_code == 0, check.out << check.err);
}

TEST_CASE("an answer that nobody predicted is evidence, in words or by number") {
  const Folder folder;
  const std::string file = folder.write("call.yaml", short_call);
  const json::object first = state(file);
  const json::object after = state(file, "something else\\nthe lamp of Entrance blinks\\n");
  CHECK(after.at("answers").to_number<int>() == 1);
  CHECK(has(content_of(file), "M4.indicator: blink"));
  CHECK(question_of(after) != question_of(first));
  // What is no observation is refused, and asked again.
  const Ran odd = call(file, "something else\\nEntrance is purple\\nback\\nquit\\n");
  CHECK(odd.exit_code == 0);
  CHECK(has(odd.out, "purple"));
}

TEST_CASE("an answer in a file that is none ends with its line, and what was answered before is kept") {
  const Folder folder;
  const std::string file = folder.write("call.yaml", short_call);
  const Ran ran = drybus_program("call '" + file + "' --answers '" +
                                 folder.write("answers.txt", "cannot\n# a remark\nperhaps\n") + "'");
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "answers.txt:3: 'perhaps' is none of the answers"));
  CHECK(state(file).at("answers").to_number<int>() == 1);
}

TEST_CASE("without a report it asks its way to one, keeps every line, and goes on where it stopped") {
  const Folder folder;
  const std::string file = folder.file("new.yaml");
  const json::object begun =
      state(file, "Dark corner\\nwired-keypad\\nhall, attic\\nHall plate, hall, 23/4\\n");
  CHECK(begun.at("stage").as_string() == "intake");
  CHECK(has(drybus_program("diagnose '" + file + "'").err, "has not been told to its end"));
  // A plate that is nowhere is refused, and asked for again; back takes a line back.
  const Ran odd = call(file, "Loft plate, cellar, 23/5\\n.\\nPendant\\nback\\nquit\\n");
  CHECK(odd.exit_code == 0);
  CHECK(has(odd.out, "'cellar'"));
  const json::object told = state(file,
                                  "Pendant, Uplight\\nSpots\\nno\\n"
                                  "addressed Pendant, Uplight, Spots with Hall plate\\npress Hall plate up\\n"
                                  "saw Pendant blip\\nperhaps wait 2min\\ngo to the attic\\n.\\n"
                                  "Spots never reacts\\n.\\nSpots is on\\n");
  CHECK(told.at("stage").as_string() != "intake");
  const std::string text = content_of(file);
  CAPTURE(text);
  CHECK(has(text, "complaint: {M3.load: lit}"));
  CHECK(has(text, "unsure: yes"));
  CHECK(drybus_program("diagnose '" + file + "'").exit_code == 0);
}

TEST_CASE("what cannot be a call is refused, and nothing is written") {
  const Folder folder;
  CHECK(drybus_program("call scenarios/training/setup-split.yaml </dev/null").exit_code == 2);
  CHECK(drybus_program("call -").exit_code == 2);
  const std::string no_lines = folder.write("no-lines.yaml", "drybus-report: 1\nintake: {a: b}\n");
  CHECK(call(no_lines, "Something\\n").exit_code == 2);
  CHECK(content_of(no_lines) == "drybus-report: 1\nintake: {a: b}\n");
  CHECK(drybus_program("call '" + folder.file("no/such/folder.yaml") + "'").exit_code == 2);
  CHECK(drybus_program("call '" + folder.file("new.yaml") + "'").exit_code == 0);
  CHECK_FALSE(fs::exists(folder.file("new.yaml")));
  const std::string report =
      "drybus-report: 1\nanswers:\nfamily: wired-keypad\nsite: {plates: {P1: 7/3}, modules: 2}\n"
      "script: []\nseen: {M1: on, M2: off}\n";
  const std::string file = folder.write("odd.yaml", report);
  const Ran ran = call(file, "cannot\\n");
  CHECK(ran.exit_code == 2);
  CHECK(has(ran.err, "'answers' has to be the last key"));
  CHECK(content_of(file) == report);
}

TEST_CASE("explanations of an earlier call in the same folder are told") {
  const Folder folder;
  folder.write("all/explanation-12.yaml", "");
  const Ran ran = drybus_program("diagnose scenarios/reports/two-answer-as-one.yaml --scenarios '" +
                                 folder.file("all") + "'");
  CHECK(ran.exit_code == 0);
  CHECK(has(ran.err, "of an earlier call"));
  CHECK(has(ran.err, "explanation-12.yaml"));
}

}  // namespace
