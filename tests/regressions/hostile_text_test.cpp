// Labels, titles and names of files with a terminal's commands in them were printed as they were, and "\_" in a YAML
// text became a byte that is no UTF-8, which broke JSON, the panel and what was written back.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <array>
#include <boost/json.hpp>
#include <filesystem>
#include <random>
#include <string>
#include <vector>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/seeds.h"
#include "tools/base/utf8.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
namespace fs = std::filesystem;

/// Text that a terminal, a JSON reader and an XML reader take as it is meant.
void is_plain(const std::string& text) {
  const auto bad = tools::first_bad_character(text);
  if (bad) FAIL_CHECK(fmt::format("{} at byte {} of: {}", bad->what, bad->offset, tools::harmless(text)));
  CHECK(text.find('\t') == std::string::npos);
  CHECK(text.find('\r') == std::string::npos);
}

std::string scenario_with(const std::string& title, const std::string& label, const std::string& note) {
  return fmt::format(R"(drybus: 1
title: {0}
about: {2}
family: wired-keypad
seed: 5
site:
  places: {{{1}: {{}}, attic: {{walk: {{{1}: 20s}}}}}}
  plates:
    P1: {{label: {1}, place: {1}, switches: {{site: 23, zone: 4}}}}
  modules:
    M1: {{label: {1}, place: {1}, intended: 23/4/1}}
    M2: {{label: {1}, place: attic, intended: 23/4/2}}
  bus: {{line: [P1, M1, M2]}}
script:
  - hold: P1 set
    for: 3s
    text: {2}
  - hold: M1 local
    for: 4s
  - note: {2}
  - press: P1 up
  - wait: 200s
  - press: P1 accept
  - expect: {{M1.address: 23/4/1}}
others:
  {0}:
    - wait: 3s
)",
                     title, label, note);
}

std::string report_with(const std::string& title, const std::string& label) {
  return fmt::format(R"(drybus-report: 1
title: {0}
family: wired-keypad
site:
  places: {{{1}: {{}}}}
  plates:
    P1: {{label: {1}, place: {1}, switches: {{site: 12, zone: 7}}}}
  modules:
    M1: {{label: {1}, place: {1}, intended: 12/7/1, stored: 12/7/1}}
    M2: {{label: {1}, place: {1}, intended: 12/7/2, stored: 12/7/1}}
  bus: {{line: [P1, M1, M2]}}
script:
  - press: P1 one
  - wait: 2s
seen:
  - {{M1.load: lit, M2.load: lit}}
)",
                     title, label);
}

/// Everything that prints a scenario %s or a report %r, the quick way.
const std::vector<std::string> printing = {"run %s",
                                           "run -q %s",
                                           "run %s --format json",
                                           "run %s --format markdown",
                                           "run %s --record -",
                                           "check %s",
                                           "check %s --format json",
                                           "check %s --coverage",
                                           "check %s --junit -",
                                           "why %s M1.address",
                                           "why %s M1.address --format json",
                                           "why %s M1.address --not 23/4/1",
                                           "draw %s --format svg -o -",
                                           "draw %s --format html -o -",
                                           "diff %s scenarios/training/first-steps.yaml",
                                           "diff %s --seeds 1,2 --format json",
                                           "sweep %s -n 5",
                                           "sweep %s -n 5 --format json",
                                           "sweep %s --run 3",
                                           "shrink %s",
                                           "shrink %s --format json",
                                           "hunt %s --for shared-address --states 200",
                                           "recover %s",
                                           "recover %s --format json",
                                           "plan %s --runs 0",
                                           "plan %s --runs 0 --format json",
                                           "plan %s --runs 0 --sheet -",
                                           "diagnose %r",
                                           "diagnose %r --format json",
                                           "recover %r",
                                           "recover %r --format json"};

/// What writes a scenario that can be run.
const std::vector<std::string> writing = {"shrink %s -o %o",
                                          "recover %s -o %o",
                                          "plan %s --runs 0 --route %o",
                                          "why %s M1.address --not 23/4/1 -o %o",
                                          "recover %r -o %o",
                                          "run %s -q --capsule %o"};

std::string with(std::string text, const std::string& mark, const std::string& word) {
  const std::size_t at = text.find(mark);
  return at == std::string::npos ? text : text.replace(at, mark.size(), word);
}

/// A word for the shell, whatever is in it.
std::string quoted(const std::string& word) {
  std::string all = "'";
  for (const char c : word) all += c == '\'' ? std::string{"'\\''"} : std::string(1, c);
  return all + "'";
}

const std::string here = "export DRYBUS_FAMILIES=$PWD/scenarios/families; ";
const std::string catalogue = " --catalogue scenarios/catalogue.yaml";

Ran told(const std::string& command, const std::string& scenario, const std::string& report,
         const std::string& output = "") {
  std::string all =
      with(with(with(command, "%s", quoted(scenario)), "%r", quoted(report)), "%o", quoted(output));
  return shell(here + "drybus " + all);
}

void all_is_plain(const std::string& scenario, const std::string& report) {
  for (const std::string& command : printing) {
    CAPTURE(command);
    const Ran ran = told(command, scenario, report);
    CHECK(ran.exit_code >= 0);
    CHECK(ran.exit_code <= 2);
    is_plain(ran.err);
    const bool is_a_file = command.ends_with(" -");
    if (!is_a_file) is_plain(ran.out);
    CHECK(!tools::first_bad_character(ran.out));
    if (command.find("json") == std::string::npos || ran.exit_code == 2) continue;
    boost::system::error_code error;
    static_cast<void>(boost::json::parse(ran.out, error));
    CHECK_MESSAGE(!error, ran.out);
  }
}

void all_can_be_read_back(const Folder& folder, const std::string& scenario, const std::string& report) {
  for (const std::string& command : writing) {
    CAPTURE(command);
    const std::string output = folder.file("written.yaml");
    fs::remove(output);
    const Ran ran = told(command, scenario, report, output);
    CHECK(ran.exit_code >= 0);
    if (!fs::exists(output)) continue;
    const Ran again = told("run %s --format json", output, "");
    CHECK_MESSAGE(again.exit_code != 2, again.err);
    CHECK(boost::json::parse(again.out).is_object());
  }
}

/// Pieces of ordinary text that is not easy, as YAML in double quotes has them.
constexpr std::array fair = {"Küche",   "灯",      "💡",        "👩‍🔧", "🏴󠁧󠁢󠁳󠁣󠁴󠁿",
                             "e\u0301", "مطبخ",    "מטבח",     "a\u200fb",    "\\_",
                             "\\\"",    "'",       "<b>&amp;", "]]>",         "--",
                             "# x",     ": ",      "- ",       "{}",          "[",
                             "%s",      "{}{0}",   "\\\\",     "|",           "`",
                             "*x*",     "\\u00e4", "\\xe4",    "\\U0001F4A1", "a\u200db",
                             "\ufb01",  "=1+2",    "@",        "null",        "~",
                             "\\/",     "x y"};
/// What no text may hold.
constexpr std::array foul = {
    "\\e[31m",     "\\e]0;owned\\a", "\\x1b",   "\\x07",  "\\x7f", "\\x85", "\\N",     "\\L",
    "\\P",         "\\u202e",        "\\u2066", "\\0",    "\\b",   "\\r",   "\\uFFFF", "\\uFDD0",
    "\\U0010FFFE", "\\x9b31m",       "\u202e",  "\u2028", "\ufdd1"};

}  // namespace

TEST_SUITE("hostile text") {
  TEST_CASE("what no terminal should be told is refused where it stands") {
    const Folder folder;
    for (const char* piece : foul) {
      CAPTURE(piece);
      const std::string bad = fmt::format("\"a{}z\"", piece);
      const std::array texts = {scenario_with(bad, "x", "x"), scenario_with("x", bad, "x"),
                                scenario_with("x", "x", bad)};
      const std::array places = {":2:", ":7:", ":3:"};
      for (std::size_t i = 0; i < texts.size(); ++i) {
        const std::string file = folder.write("s.yaml", texts[i]);
        for (const char* command : {"run %s", "check %s", "plan %s"}) {
          CAPTURE(command);
          const Ran ran = told(command, file, "");
          CHECK(ran.exit_code == 2);
          const std::string all = ran.out + ran.err;
          CHECK(all.find("s.yaml" + std::string{places[i]}) != std::string::npos);
          CHECK(all.find("expected") != std::string::npos);
          is_plain(all);
        }
      }
    }
  }

  TEST_CASE("a title is one line; \\_ is the blank that it says") {
    const Folder folder;
    const Ran two = told("run %s", folder.write("s.yaml", scenario_with("\"a\\nb\"", "x", "x")), "");
    CHECK(two.exit_code == 2);
    CHECK(two.err.find("s.yaml:2:8: this has more than one line") != std::string::npos);
    const Ran label = told("run %s", folder.write("s.yaml", scenario_with("x", "\"a\\nb\"", "x")), "");
    CHECK(label.exit_code == 2);
    CHECK(label.err.find("s.yaml:7:") != std::string::npos);
    const Ran blank =
        told("run %s --format json", folder.write("s.yaml", scenario_with("\"Hall\\_plate\"", "x", "x")), "");
    CHECK(blank.exit_code == 1);
    CHECK(boost::json::parse(blank.out).at("title").as_string() == "Hall\u00a0plate");
    CHECK(told("run %s", folder.write("s.yaml", scenario_with("x", "x", "\"a\\nb\\tc\"")), "").exit_code ==
          1);
  }

  TEST_CASE("text that is merely not easy goes through every command, and what is written can be read") {
    const Folder folder;
    for (const std::uint64_t seed : test::seeds(6)) {
      INFO(test::replay(seed, "text that is merely not easy*"));
      std::mt19937_64 random{seed};
      const auto text = [&] {
        std::string all = "\"";
        for (std::size_t i = 0; i < 3; ++i) all += fair[random() % fair.size()];
        return all + ".\"";
      };
      const std::string scenario = folder.write("s.yaml", scenario_with(text(), text(), text()));
      const std::string report = folder.write("r.yaml", report_with(text(), text()));
      CAPTURE(content_of(scenario));
      CAPTURE(content_of(report));
      REQUIRE(told("run %s", scenario, "").exit_code == 1);
      fs::copy(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml", folder.path() / "catalogue.yaml",
               fs::copy_options::overwrite_existing);
      all_is_plain(scenario, report);
      all_can_be_read_back(folder, scenario, report);
    }
  }

  TEST_CASE("names of files reach no terminal as they are, and break nothing that is written") {
    const Folder folder;
    for (const std::string name : {"a\x1b]0;owned\x07", "b\xff\xc3", "c\nd\te", "e\u202ef",
                                   "g\xc2\x9b"
                                   "31m"}) {
      const std::string scenario =
          folder.write(name + ".yaml", with(scenario_with("x", "x", "x"), "title: x\n", ""));
      const std::string report =
          folder.write(name + "-r.yaml", with(report_with("x", "x"), "title: x\n", ""));
      fs::copy(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml", folder.path() / "catalogue.yaml",
               fs::copy_options::overwrite_existing);
      CAPTURE(tools::harmless(name));
      all_is_plain(scenario, report);
      all_can_be_read_back(folder, scenario, report);
      for (const char* missing : {"run %s", "check %s", "draw x -o %s", "why %s M1.address", "diff %s %s",
                                  "diagnose %s", "plan %s", "sweep %s", "run x --firmware %s"}) {
        CAPTURE(missing);
        const Ran ran = told(missing, folder.file(name + "/none.yaml"), "");
        CHECK(ran.exit_code == 2);
        is_plain(ran.out + ran.err);
      }
    }
  }

  TEST_CASE("words of the command line reach no terminal as they are") {
    const std::string word = quoted("x\x1b[31m\x07\xff\xe2\x80\xae");
    for (const std::string& command :
         {word, "run " + word, "run --" + word, "run scenarios/training/first-steps.yaml --format " + word,
          "why scenarios/training/first-steps.yaml " + word,
          "why scenarios/training/first-steps.yaml M1.address --not " + word,
          "why scenarios/training/first-steps.yaml M1.address --at " + word,
          "hunt scenarios/training/first-steps.yaml --for " + word, "switches " + word,
          "switches 3 --family " + word, "plan scenarios/sites/village-hall.yaml --start " + word,
          "sweep scenarios/training/first-steps.yaml --vary " + word, "building --plates " + word}) {
      CAPTURE(tools::harmless(command));
      const Ran ran = drybus_program(command);
      CHECK(ran.exit_code != 0);
      is_plain(ran.out + ran.err);
    }
  }

  TEST_CASE("records, answers and capsules of others are told in plain text") {
    const Folder folder;
    const std::string record = folder.file("r.jsonl");
    REQUIRE(shell("drybus run -q scenarios/training/first-steps.yaml --record " + record).exit_code == 0);
    std::string text = content_of(record);
    const std::size_t at = text.rfind("\"text\":\"") + 8;
    text.insert(at, "\\u001b]0;owned\\u0007\\u202e\\u009b");
    const std::string other = folder.write("other.jsonl", text);
    const Ran parted = drybus_program(fmt::format("diff {} {}", record, other));
    is_plain(parted.out + parted.err);
    const std::string answers = folder.write("a.txt", "\x1b[31m\xff\n");
    const Ran asked =
        drybus_program("diagnose scenarios/reports/two-answer-as-one.yaml --answers " + answers);
    is_plain(asked.out + asked.err);
    const std::string capsule = folder.file("c.yaml");
    REQUIRE(shell("drybus run -q scenarios/training/first-steps.yaml --capsule " + capsule).exit_code == 0);
    folder.write("c.yaml", with(content_of(capsule), "first-steps.yaml", "\\u001b[31m.yaml"));
    const Ran packed = drybus_program("run " + capsule);
    CHECK(packed.exit_code == 2);
    is_plain(packed.out + packed.err);
  }

  TEST_CASE("on a terminal there are our colours and nothing else") {
    const Folder folder;
    const std::string scenario = folder.write("a\x1b]0;owned\x07.yaml", scenario_with("x", "x", "x"));
    const auto on_terminal = [&](const std::string& arguments) {
      return shell(here + "script -qec " + quoted("'" DRYBUS_PROGRAM "' " + arguments) + " /dev/null").out;
    };
    for (const std::string command : {"run ", "check ", "why --prove ", "sweep -n 5 "}) {
      std::string text = on_terminal(command + quoted(scenario) + (command[0] == 'w' ? " M1.address" : ""));
      CAPTURE(tools::harmless(text));
      for (const char* ours :
           {"\x1b[0m", "\x1b[1m", "\x1b[2m", "\x1b[31m", "\x1b[32m", "\x1b[33m", "\x1b[K", "\r"}) {
        for (std::size_t at = text.find(ours); at != std::string::npos; at = text.find(ours, at))
          text.erase(at, std::string_view{ours}.size());
      }
      is_plain(text);
    }
    CHECK(on_terminal("run " + quoted(scenario)).find("\x1b[31m") != std::string::npos);
    CHECK(shell(here + "NO_COLOR=1 script -qec " + quoted("'" DRYBUS_PROGRAM "' run " + quoted(scenario)) +
                " /dev/null")
              .out.find('\x1b') == std::string::npos);
    // What goes into a file has no colours, terminal or not.
    on_terminal("run " + quoted(scenario) + " -o " + quoted(folder.file("story.txt")));
    is_plain(content_of(folder.file("story.txt")));
    CHECK(!content_of(folder.file("story.txt")).empty());
  }
}
