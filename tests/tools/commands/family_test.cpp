// drybus family: reading back, drawing, doubts, and where two part.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>
#include <fstream>

#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/script/reader.h"

namespace {

namespace fs = std::filesystem;
namespace json = boost::json;
using drybus::tests::drybus_program;
using drybus::tests::Ran;
using drybus::tools::read_family_text;

std::string text_of(const std::string& name) {
  std::ifstream in{DRYBUS_SOURCE_DIR "/scenarios/families/" + name + ".yaml"};
  return {std::istreambuf_iterator<char>{in}, {}};
}

std::string with(std::string text, std::string_view right, std::string_view wrong) {
  const std::size_t at = text.find(right);
  REQUIRE_MESSAGE(at != std::string::npos, right);
  return text.replace(at, right.size(), wrong);
}

TEST_CASE("every shipped family is read back, is not doubtful, and can be drawn") {
  const Folder folder;
  const fs::path drawn = folder.path() / "drawn.svg";
  std::size_t families = 0;
  for (const auto& file : fs::directory_iterator{DRYBUS_SOURCE_DIR "/scenarios/families"}) {
    CAPTURE(file.path().string());
    const Ran ran = drybus_program(fmt::format("family {} -o {}", file.path().string(), drawn.string()));
    CHECK(ran.exit_code == 0);
    CHECK(ran.out.find("Nothing about these machines is doubtful.") != std::string::npos);
    std::ifstream in{drawn};
    const std::string svg{std::istreambuf_iterator<char>{in}, {}};
    CHECK(svg.find("in any state") != std::string::npos);
    ++families;
  }
  CHECK(families >= 5);
}

TEST_CASE("what is doubtful is told with its line, and the exit code says so") {
  const Folder folder;
  const fs::path file = folder.path() / "doubtful.yaml";
  std::ofstream{file} << with(text_of("asking-modules"), "- {in: asking, on: time-out, to: normal}",
                              "- {in: asking, on: time-out, do: stop ask}");
  const Ran ran = drybus_program("family " + file.string());
  CHECK(ran.exit_code == 1);
  CHECK(ran.out.find("state 'asking': setup that never ends by itself") != std::string::npos);
  std::ofstream{file} << with(text_of("asking-modules"), "{in: normal, on: gesture held, to: asking}",
                              "{in: normal, on: gesture held, do: wake blips}");
  const Ran stuck = drybus_program("family --format json " + file.string());
  CHECK(stuck.exit_code == 1);
  const json::array remarks = json::parse(stuck.out).at("remarks").as_array();
  REQUIRE(remarks.size() == 2);
  CHECK(remarks[0].at("text").as_string() == "state 'normal': nothing but a power cut leads out of it");
  CHECK(remarks[1].at("text").as_string() == "state 'asking': nothing leads there");
  CHECK(remarks[1].at("line").as_int64() > 20);
}

TEST_CASE("two families are told apart point by point, and one is the same as itself") {
  CHECK(drybus_program("family wired-keypad wired-keypad").exit_code == 0);
  const Ran ran = drybus_program("family wired-keypad confirming-modules --format json");
  CHECK(ran.exit_code == 1);
  const json::array parts = json::parse(ran.out).at("differences").as_array();
  const bool told = std::any_of(parts.begin(), parts.end(), [](const json::value& part) {
    return part.at("what").as_string() == "module: setup, assign heard, if offer whole" &&
           part.at("one").as_string() == "store address, to normal" &&
           part.at("other").as_string() == "keep offer, to offered";
  });
  CHECK(told);
}

TEST_CASE("mistakes in a machine are told at their place, with the nearest right word") {
  const std::string text = text_of("wired-keypad");
  struct Mistake {
    const char* right;
    const char* wrong;
    const char* told;
    const char* nearest;
  };
  const Mistake mistakes[] = {
      {"on: gesture held, to: setup", "on: gesture hled, to: setup",
       "unknown event of a plate 'gesture hled'", "gesture held"},
      {"do: refuse missing channel", "do: refuse mising channel",
       "unknown action of a plate 'refuse mising channel'", "refuse missing channel"},
      {"when: at last channel", "when: at lst channel", "unknown condition of a plate 'at lst channel'",
       "at last channel"},
      {"on: leave pressed, to: normal", "on: leave pressed, to: norml", "unknown state 'norml'", "normal"},
      {"shows: [refuse, blink, blip]", "shows: [refuse, blnk, blip]", "unknown pattern 'blnk'", "blink"},
      {"normal: {mode: normal}", "normal: {mode: setp}", "unknown mode 'setp'", "setup"},
      {"{in: setup, on: time-out, to: normal}", "{in: setup, on: time-out, too: normal}", "unknown key 'too'",
       "to"},
      {"on: assign heard, when: [offer whole", "on: asign heard, when: [offer whole",
       "unknown event of a module 'asign heard'", "assign heard"},
      {"do: [store address, store power-up off]", "do: [store adress, store power-up off]",
       "unknown action of a module 'store adress'", "store address"},
      {"on: beacon heard, when: mine", "on: beacon heard, when: mien", "unknown condition of a module 'mien'",
       "mine"},
      {"- {in: any, on: power on, do: wake blips}", "- {on: power on, do: wake blips}",
       "a row lacks the key 'in'", ""},
  };
  for (const Mistake& mistake : mistakes) {
    CAPTURE(mistake.wrong);
    const auto reading = read_family_text(with(text, mistake.right, mistake.wrong), "spoilt.yaml");
    REQUIRE_FALSE(reading.ok());
    CHECK(reading.problems()[0].message.starts_with(mistake.told));
    CHECK(reading.problems()[0].suggestion == mistake.nearest);
    CHECK(reading.problems()[0].line > 20);
  }
}

TEST_CASE("a machine that no device could be run with is refused at its row") {
  const auto reading = read_family_text(
      with(text_of("asking-modules"), "  ask: 7s            # between two questions\n", ""), "spoilt.yaml");
  REQUIRE_FALSE(reading.ok());
  CHECK(reading.problems()[0].message ==
        "the machine of a module: 'start ask': how long that takes is not said");
  CHECK(reading.problems()[0].line > 20);
}

TEST_CASE("a family that says nothing of its machine has the usual one") {
  std::string text = text_of("wired-keypad");
  for (int i = 0; i < 2; ++i) {
    const std::size_t from = text.find("  machine:\n");
    text.erase(from, text.find("\n\n", from) + 1 - from);
  }
  text = with(text, "    beacon: 5s\n", "    announces_leaving: no\n    beacon: 5s\n");
  const Folder own;
  const fs::path file = own.path() / "usual.yaml";
  std::ofstream{file} << text;
  const Ran ran = drybus_program("family wired-keypad " + file.string());
  CHECK(ran.out.find("do the same") != std::string::npos);
}

/// The family that the README describes in words and then writes down.
std::string family_in_readme() {
  std::ifstream in{DRYBUS_SOURCE_DIR "/README.md"};
  const std::string text{std::istreambuf_iterator<char>{in}, {}};
  const std::size_t from = text.find("drybus-family: 1");
  REQUIRE(from != std::string::npos);
  return text.substr(from, text.find("```", from) - from);
}

TEST_CASE("the family of the README's tutorial is under 100 lines and does what its description says") {
  const std::string text = family_in_readme();
  CHECK(std::count(text.begin(), text.end(), '\n') < 100);
  const Folder own;
  const fs::path& folder = own.path();
  fs::create_directories(folder / "families");
  std::ofstream{folder / "families" / "own.yaml"} << text;
  CHECK(drybus_program("family " + (folder / "families" / "own.yaml").string()).exit_code == 0);
  std::ofstream{folder / "story.yaml"} << R"(
drybus: 1
family: own
site:
  plates:
    P1: {switches: {site: 4, zone: 5}}
  modules:
    M1: {}
script:
  - hold: P1 left right
    for: 2.2s
  - hold: M1 knob
    for: 5.2s
  - press: P1 left
  - press: P1 right
  - see: {M1.indicator: steady}
  - expect: {M1.address: 4/5/1, M1.mode: setup}
  - press: P1 left
  - press: P1 right
  - expect: {M1.address: 4/5/2, M1.mode: setup}
  - press: M1 knob
  - expect: {M1.mode: normal}
  - wait: 76s
  - expect: {P1.mode: normal}
  - press: P1 right
  - wait: 1s
  - expect: {M1.load: 0%}
)";
  const Ran ran = drybus_program("run " + (folder / "story.yaml").string());
  CAPTURE(ran.out);
  CHECK(ran.exit_code == 0);
}

}  // namespace
