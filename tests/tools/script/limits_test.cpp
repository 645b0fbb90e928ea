// Nothing in a file can crash, hang or eat memory. Each case has to end with a problem; the test runner's own
// time limit is what a hang would meet.
#include <doctest/doctest.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "sim/random.h"
#include "tests/support/files.h"
#include "tests/support/printing.h"
#include "tests/support/script_text.h"
#include "tests/support/seeds.h"
#include "tools/script/site_reader.h"
#include "tools/script/step_reader.h"
#include "tools/script/tree.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;

namespace fs = std::filesystem;

std::string times(std::size_t count, const std::string& text) {
  std::string all;
  all.reserve(count * text.size());
  for (std::size_t i = 0; i < count; ++i) all += text;
  return all;
}

std::string first_problem(const std::string& text) {
  const auto problems = problems_of(text);
  REQUIRE_FALSE(problems.empty());
  return problems[0].substr(0, problems[0].find(" |"));
}

TEST_CASE("deep nesting of every kind is refused") {
  CHECK(first_problem(times(10'000, "[")) == "1:33 nested deeper than 64 levels");
  CHECK(first_problem(times(10'000, "{")).ends_with("nested deeper than 64 levels"));
  CHECK(first_problem(times(10'000, "- ")) == "1:129 nested deeper than 64 levels");
  CHECK(first_problem(times(10'000, "? ")) == "1:129 nested deeper than 64 levels");
  CHECK(first_problem(times(10'000, "{a: ")) == "1:250 nested deeper than 64 levels");
  std::string indented;
  for (std::size_t i = 0; i < 2'000; ++i) indented += std::string(i, ' ') + "a:\n";
  CHECK(first_problem(indented) == "64:64 nested deeper than 64 levels");
  CHECK(first_problem(times(2'000'000, "[")).ends_with("nested deeper than 64 levels"));
}

TEST_CASE("nesting that aliases put together is refused, too") {
  std::string text = "a0: &a0 [x]\n";
  for (int i = 1; i < 100; ++i) text += fmt::format("a{}: &a{} [*a{}]\n", i, i, i - 1);
  CHECK(first_problem(text) == "63:12 nested deeper than 64 levels");
}

TEST_CASE("aliases count as all that they stand for") {
  std::string bomb = "a0: &a0 [x,x,x,x,x,x,x,x,x]\n";
  for (int i = 1; i < 12; ++i) {
    bomb += fmt::format("a{}: &a{} [", i, i) + times(8, fmt::format("*a{},", i - 1)) +
            fmt::format("*a{}]\n", i - 1);
  }
  CHECK(first_problem(bomb).ends_with("more than 100000 values (an alias counts as all that it stands for)"));
  CHECK(first_problem("a: &a [*a]") == "1:8 an alias within what it stands for");
  CHECK(first_problem("a: *b").starts_with("1:4 this is not YAML"));
}

TEST_CASE("so many values are too many") {
  CHECK(first_problem("a: [" + times(200'000, "x,") + "]").find("more than 100000 values") !=
        std::string::npos);
  CHECK(first_problem(times(1'000'000, "- \n")).find("more than 100000 values") != std::string::npos);
}

TEST_CASE("a text has one document, and something in it") {
  CHECK(first_problem("") == "1:1 the file is empty");
  CHECK(first_problem("\n\n# remark\n") == "1:1 the file is empty");
  CHECK(first_problem("---\n") == "1:1 the file is empty");
  CHECK(first_problem("~") == "1:1 the file is empty");
  CHECK(first_problem("drybus: 1\n---\ndrybus: 1\n") == "2:1 a second document begins here");
  CHECK(first_problem(times(1'000'000, ",")) ==
        "1:1 a second document begins here");  // the parser never gets past one
  CHECK(first_problem("title: \"open\n") == "1:8 this quotation mark is never closed");
  CHECK(first_problem("title: 'it''s\n") == "1:8 this quotation mark is never closed");
}

TEST_CASE("text that is no text is refused at its place") {
  CHECK(first_problem("a: 1\nb: \xff\n") == "2:4 text that is not UTF-8");
  CHECK(first_problem("a: \xc0\xaf") == "1:4 text that is not UTF-8");      // overlong
  CHECK(first_problem("a: \xed\xa0\x80") == "1:4 text that is not UTF-8");  // a surrogate
  CHECK(first_problem("\xc3\xa9: \xc3") == "1:4 text that is not UTF-8");   // cut short
  CHECK(first_problem(std::string{"a: b\0c", 6}) == "1:5 a NUL byte");
  CHECK(first_problem("a: \x1b[31m") == "1:4 a control character (U+001B)");
  CHECK(first_problem("a: 1\rb: 2") == "1:5 a control character (U+000D)");
  CHECK(first_problem("a: \xc2\x85") == "1:4 a control character (U+0085)");
}

TEST_CASE("a byte order mark and Windows line ends are welcome") {
  std::string text = "\xef\xbb\xbf" + scenario_with("- wait: 200");
  for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos; at += 2)
    text.replace(at, 1, "\r\n");
  CHECK(first_problem(text) == "12:11 a bare number; add a unit, e.g. 200 s");
  const auto reading = read(text);
  CHECK(reading.problems()[0].line_text == "  - wait: 200");
}

TEST_CASE("columns count characters, not bytes") {
  CHECK(first_problem(scenario_with("- {text: Küche öffnen, wait: 200}")) ==
        "12:32 a bare number; add a unit, e.g. 200 s");
}

TEST_CASE("what the YAML parser refuses is told with a hint") {
  const auto problem = [](const std::string& text) { return problems_of(text).at(0); };
  CHECK(problem("a: b: c") ==
        "1:5 this is not YAML: illegal map value | one 'key: value' a line; text that holds ': ' goes in "
        "quotes | ");
  CHECK(problem("a: 'b") == "1:6 this is not YAML: illegal EOF in scalar | a closing quotation mark | ");
  CHECK(problem("a:\n\tb: 1").find("blanks, not tabs, for indentation") != std::string::npos);
  CHECK(problem("a: {b: 1\nc: 2").find("a comma, or a closing '}'") != std::string::npos);
  CHECK(problem("a: [b\nc: 2").find("a comma, or a closing ']'") != std::string::npos);
  CHECK(problem("[a]: 1").starts_with("1:1 a list where a key should be"));
}

TEST_CASE("of very many problems the first hundred are told") {
  std::string script;
  for (int i = 0; i < 5'000; ++i) script += "- wait: 200\n";
  const auto reading = read(scenario_with(script));
  REQUIRE_FALSE(reading.ok());
  REQUIRE(reading.problems().size() == 101);
  CHECK(reading.problems().back().message == "and 4900 further problems; mend these first");
}

TEST_CASE("steps and checks have their limits, however they are multiplied") {
  const auto repeated = [](const std::string& count, const std::string& steps) {
    return first_problem(scenario_with("- repeat: " + count + "\n  steps: " + steps));
  };
  CHECK(repeated("65000", "[{wait: 1s}, {wait: 1s}]") == "12:5 more than 65000 steps");
  CHECK(repeated("60000", "[{repeat: 60000, steps: [{wait: 1s}]}]") == "12:5 more than 65000 steps");
  CHECK(repeated("99999999999999999999", "[{wait: 1s}]") == "12:13 '99999999999999999999' is too large");
  CHECK(repeated("60000", "[{expect: {M1.mode: normal, M2.mode: normal}}]") ==
        "12:5 more than 100000 checks");
  CHECK(first_problem(scenario_with("- repeat: 60000\n  steps: [{wait: 1s}]") +
                      "others:\n  Ann: [{repeat: 60000, steps: [{wait: 1s}]}]\n") ==
        "15:10 more than 100000 steps, all people together");
  CHECK(must_read(scenario_with("- repeat: 65000\n  steps: [{wait: 1s}]")).scenario.people[0].script.size() ==
        max_steps);
}

TEST_CASE("a script is over within ten years") {
  CHECK(first_problem(scenario_with("- repeat: 30\n  steps: [{wait: 8760 h}]")) ==
        "13:14 this script goes on for longer than ten years");
}

TEST_CASE("sites have their limits") {
  std::string places = "  places: {hall: {}, attic: {}";
  for (int i = 0; i < 400; ++i) places += fmt::format(", p{}: {{}}", i);
  CHECK(first_problem(scenario_with_line(5, places + "}")).ends_with("more than 300 places"));

  std::string modules = "drybus: 1\nfamily: radio-keypad\nscript: []\nsite:\n  plates: {}\n  modules:\n";
  for (int i = 0; i < 1'000; ++i) modules += fmt::format("    M{}: {{}}\n", i);
  CHECK(first_problem(modules + "  bus: {radio: all}\n") ==
        "1007:16 more than 200000 pairs of devices within reach of each other");
  CHECK(first_problem(modules) == "5:3 more than 200000 pairs of devices within reach of each other");
}

// --- files ---

std::string file_problem(const fs::path& path) {
  const auto reading = read_scenario(path);
  REQUIRE_FALSE(reading.ok());
  REQUIRE(reading.problems().size() == 1);
  CHECK(reading.problems()[0].line == 0);
  CHECK(reading.problems()[0].file == path.string());
  return reading.problems()[0].message;
}

TEST_CASE("what is no readable file says so") {
  const Folder folder;
  CHECK(file_problem(folder.path() / "nowhere.yaml") == "there is no such file");
  fs::create_directory(folder.path() / "folder.yaml");
  CHECK(file_problem(folder.path() / "folder.yaml") == "is a folder, not a file");
  REQUIRE(::mkfifo((folder.path() / "pipe.yaml").c_str(), 0600) == 0);
  CHECK(file_problem(folder.path() / "pipe.yaml") == "is no regular file");
  fs::create_symlink("/dev/zero", folder.path() / "zero.yaml");
  CHECK(file_problem(folder.path() / "zero.yaml") == "is no regular file");
  fs::create_symlink("loop.yaml", folder.path() / "loop.yaml");
  CHECK(file_problem(folder.path() / "loop.yaml").starts_with("cannot be read"));
  CHECK(file_problem(folder.path() / std::string(5'000, 'n')).starts_with("cannot be read"));
}

TEST_CASE("a hundred megabytes are refused unread") {
  const Folder folder;
  folder.write("huge.yaml", "");
  fs::resize_file(folder.path() / "huge.yaml", 100'000'000);  // sparse: it takes no room
  CHECK(file_problem(folder.path() / "huge.yaml").starts_with("is larger than 4 MiB"));
  CHECK(problems_of(std::string(5'000'000, 'a')) ==
        std::vector<std::string>{"0:0 is larger than 4 MiB |  | "});
}

// --- random texts ---

/// Reads it and does nothing else: what counts is that it comes back.
void survive(const std::string& text) {
  const auto reading = read(text);
  if (!reading.ok()) {
    CHECK_FALSE(reading.problems().empty());
    CHECK_FALSE(to_text(reading.problems()).empty());
  }
}

TEST_CASE("random bytes are refused and no more") {
  for (const std::uint64_t seed : test::seeds(300)) {
    CAPTURE(test::replay(seed, "random bytes are refused and no more"));
    sim::Stream stream{seed, sim::Purpose::generator, 1};
    std::string text(stream.below(2'000), '\0');
    for (char& c : text) c = static_cast<char>(stream.below(256));
    survive(text);
  }
}

TEST_CASE("random YAML-like texts are refused and no more") {
  const std::vector<std::string> pieces = {
      "[",      "]",   "{",           "}",    ",",  ": ",  "- ",  "? ",  "\n",   "\n  ",
      "\n    ", "&a ", "*a",          "!t",   "\"", "'",   "|\n", ">\n", "#",    "---\n",
      "%",      "a",   "drybus: 1\n", "site", "\t", "\\x", "<<",  "~",   "null", "0x1"};
  for (const std::uint64_t seed : test::seeds(2'000)) {
    CAPTURE(test::replay(seed, "random YAML-like texts are refused and no more"));
    sim::Stream stream{seed, sim::Purpose::generator, 2};
    std::string text;
    for (std::uint64_t i = stream.below(60); i > 0; --i) text += pieces[stream.below(pieces.size())];
    survive(text);
  }
}

TEST_CASE("scenarios with random damage are read or refused and no more") {
  std::vector<std::string> texts;
  for (const std::string& path : shipped_scenarios()) {
    std::ifstream in{path};
    texts.emplace_back(std::istreambuf_iterator<char>{in}, std::istreambuf_iterator<char>{});
  }
  REQUIRE(texts.size() > 10);
  for (const std::uint64_t seed : test::seeds(1'500)) {
    CAPTURE(test::replay(seed, "scenarios with random damage are read or refused and no more"));
    sim::Stream stream{seed, sim::Purpose::generator, 3};
    std::string text = texts[stream.below(texts.size())];
    for (std::uint64_t hits = 1 + stream.below(4); hits > 0; --hits) {
      const std::size_t at = stream.below(text.size());
      switch (stream.below(4)) {
        case 0:
          text[at] = static_cast<char>(32 + stream.below(95));
          break;
        case 1:
          text.erase(at, 1 + stream.below(20));
          break;
        case 2:
          text.insert(at, text.substr(stream.below(text.size()), stream.below(60)));
          break;
        default:
          text.insert(at, 1, "[]{}:,-#&*!|>'\"%\n\t 0"[stream.below(20)]);
      }
      if (text.empty()) text = "a";
    }
    survive(text);
  }
}

}  // namespace
