// Manual pages, completions and reference: made from help, read by other people's programs, asked as people ask them.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <set>
#include <sstream>
#include <string>
#include <vector>

#include "tests/support/files.h"
#include "tests/support/own_tmp.h"
#include "tests/support/program.h"
#include "tools/commands/command.h"
#include "tools/reference/manual.h"
#include "tools/reference/values.h"

namespace {

using namespace drybus::tests;
using namespace drybus::tools;

namespace fs = std::filesystem;

std::string made(const Folder& folder, const std::string& kind) {
  const std::string path = folder.file(kind);
  const Ran ran = drybus_program("reference " + kind + " " + path);
  REQUIRE_MESSAGE(ran.exit_code == 0, ran.err);
  return path;
}

/// "--memory", as help shows them at the beginning of a line.
std::set<std::string> options_in_help(const std::string& command) {
  const Ran ran = drybus_program(command + " --help");
  REQUIRE(ran.exit_code == 0);
  std::set<std::string> options;
  std::istringstream text{ran.out};
  for (std::string line; std::getline(text, line);) {
    const std::size_t dashes = line.find("--");
    const bool begins = line.starts_with("  -") && dashes != std::string::npos && dashes < 12;
    if (begins) options.insert(line.substr(dashes, line.find_first_of(" =]", dashes) - dashes));
  }
  return options;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream{text};
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

bool has_line(const std::string& text, const std::string& line) {
  const auto lines = lines_of(text);
  return std::find(lines.begin(), lines.end(), line) != lines.end();
}

TEST_CASE(
    "every command has a manual page with every option of its help, and mandoc finds nothing wrong with it") {
  const Folder folder;
  const std::string man = made(folder, "man");
  const std::string pages = content_of(made(folder, "pages") + "/commands.md");
  for (const Command& command : commands()) {
    const std::string name{command.name};
    CAPTURE(name);
    const std::string page = man + "/drybus-" + name + ".1";
    REQUIRE(fs::exists(page));
    const Ran read = shell("MANWIDTH=100 mandoc -T utf8 -O width=100 " + page + " | col -b");
    const std::set<std::string> options = options_in_help(name);
    CHECK(options.size() > 1);
    for (const std::string& option : options) {
      CHECK_MESSAGE(read.out.find(option) != std::string::npos, option << " in the page of " << name);
      CHECK_MESSAGE(pages.find("`" + option) != std::string::npos, option << " in the reference");
    }
  }
  // That other pages of ours are not installed is no fault of a page.
  const Ran lint = shell("mandoc -T lint -W style " + man + "/*.1 | grep -v 'referenced manual not found'");
  CHECK_MESSAGE(lint.out.empty(), lint.out);
  CHECK(shell("for page in " + man + "/*.1; do man --warnings -l $page >/dev/null || exit 1; done")
            .err.empty());
}

TEST_CASE("every example of the manual can be run as it stands") {
  const Folder folder;
  std::size_t count = 0;
  for (const Command& command : commands()) {
    for (const Example& example : examples_of(command.name)) {
      CAPTURE(example.line);
      const Ran ran = shell_with_tmp(folder, std::string{example.line});
      // 1: it found what it looked for.
      CHECK_MESSAGE((ran.exit_code == 0 || ran.exit_code == 1), ran.err);
      const bool writes = example.line.find(" -o ") != std::string_view::npos;
      CHECK((writes || !ran.out.empty()));
      ++count;
    }
  }
  CHECK(count > 15);
}

TEST_CASE(
    "names that could be meant: devices, facts, findings of the run, families; anything else is refused") {
  const std::string scenario = "scenarios/training/setup-split.yaml";
  CHECK(has_line(drybus_program("names devices " + scenario).out, "M1"));
  const Ran questions = drybus_program("names questions " + scenario);
  CHECK(has_line(questions.out, "M1.address"));
  CHECK(has_line(questions.out, "P1.channel"));
  CHECK(has_line(questions.out, "setup-split"));
  CHECK(!has_line(questions.out, "stuck-button"));
  CHECK(has_line(drybus_program("names families").out, "wired-keypad"));
  CHECK(drybus_program("names devises " + scenario).err.find("Did you mean 'devices'?") != std::string::npos);
  CHECK(drybus_program("names devices").exit_code == 2);
  CHECK(drybus_program("names devices tests/data/slip.yaml").exit_code == 2);
  CHECK(drybus_program("--help").out.find("names ") == std::string::npos);
}

TEST_CASE("what a command tells of itself is no way in for anybody") {
  CHECK(drybus_program("run --describe").exit_code == 2);
  CHECK(drybus_program("run --describe").err.find("unknown option") != std::string::npos);
}

TEST_CASE("the words of a choice are read off its help") {
  CHECK(choices_in("text, json or markdown (a hand-out)") ==
        std::vector<std::string>{"text", "json", "markdown"});
  CHECK(choices_in("of the sheet: a4 or letter") == std::vector<std::string>{"a4", "letter"});
  CHECK(choices_in("") == std::vector<std::string>{});
}

// --- the shells themselves ---

/// What a person who presses Tab at the end of `typed` is offered.
std::string in_bash(const std::string& script, const std::string& typed) {
  return shell(
             "cat >\"${TMPDIR:-/tmp}/drybus-tab.$$\" <<'EOF'\n"
             "source " +
             script +
             "\n"
             "COMP_LINE='" +
             typed +
             "'; read -ra COMP_WORDS <<<\"$COMP_LINE\"\n"
             "[[ $COMP_LINE == *' ' ]] && COMP_WORDS+=('')\n"
             "COMP_CWORD=$((${#COMP_WORDS[@]} - 1)); COMP_WORDS[0]='" DRYBUS_PROGRAM
             "'\n"
             "_drybus; printf '%s\\n' \"${COMPREPLY[@]}\"\n"
             "EOF\n"
             "bash --norc \"${TMPDIR:-/tmp}/drybus-tab.$$\"; rm \"${TMPDIR:-/tmp}/drybus-tab.$$\"")
      .out;
}

std::string in_fish(const std::string& script, const std::string& typed) {
  return shell("HOME=$(mktemp -d) fish --no-config -c 'set -x PATH (dirname " DRYBUS_PROGRAM
               ") $PATH; source " +
               script + "; complete -C \"" + typed + "\"' | cut -f1")
      .out;
}

std::string in_zsh(const std::string& folder, const std::string& typed) {
  return shell("python3 tests/packages/press_tab.py " + folder + " " DRYBUS_PROGRAM " '" + typed + "'").out;
}

TEST_CASE("bash, zsh and fish offer commands, options, choices and names inside a scenario") {
  const Folder folder;
  const std::string made_in = made(folder, "completions");
  const auto offered = [&](const std::string& shell_name, const std::string& typed) {
    if (shell_name == "bash") return in_bash(made_in + "/drybus", typed);
    if (shell_name == "fish") return in_fish(made_in + "/drybus.fish", typed);
    return in_zsh(made_in, typed);
  };
  for (const std::string name : {"bash", "fish", "zsh"}) {
    CAPTURE(name);
    struct Tab {
      std::string typed, offered, not_offered;
    };
    for (const Tab& tab :
         {Tab{"drybus di", "diagnose", "draw"}, Tab{"drybus run --form", "--format", "--seed"},
          Tab{"drybus run --format mark", "markdown", "json"},
          Tab{"drybus why scenarios/training/setup-split.yaml M1.addr", "M1.address", "M2.address"},
          Tab{"drybus why scenarios/training/setup-split.yaml setup", "setup-split", "M1.address"},
          Tab{"drybus bridge scenarios/training/setup-split.yaml --as P", "P1", "M1"},
          Tab{"drybus family wired", "wired-keypad", "radio"}}) {
      const std::string got = offered(name, tab.typed);
      CAPTURE(tab.typed);
      CAPTURE(got);
      CHECK(got.find(tab.offered) != std::string::npos);
      CHECK(got.find(tab.not_offered) == std::string::npos);
    }
  }
}

}  // namespace
