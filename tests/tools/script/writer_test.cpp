// What is written reads back as the same scenario.
#include "tools/script/writer.h"

#include <doctest/doctest.h>

#include <filesystem>

#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/files.h"
#include "tests/support/printing.h"
#include "tests/support/script_text.h"
#include "tests/support/seeds.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;

namespace fs = std::filesystem;

/// Reads what was written as if it lay beside the shipped scenarios.
LoadedScenario there_and_back(const LoadedScenario& loaded) {
  return must_read(write_scenario(loaded));
}

TEST_CASE("every shipped scenario is the same after it was written, and runs the same") {
  for (const std::string& path : shipped_scenarios()) {
    CAPTURE(path);
    const auto reading = read_scenario(path);
    REQUIRE(reading.ok());
    const LoadedScenario again = there_and_back(reading.value());
    CHECK(said_by(again) == said_by(reading.value()));
    CHECK(model::run(again.scenario).digest == model::run(reading.value().scenario).digest);
  }
}

TEST_CASE("what is written is as a person would write it") {
  const std::string text =
      "drybus: 1\n"
      "title: A test\n"
      "about: |\n"
      "  Two lines,\n"
      "  and an end.\n"
      "family: wired-keypad\n"
      "seed: 11\n"
      "people: {press: 90ms}\n"
      "site:\n"
      "  places:\n"
      "    hall: {}\n"
      "    attic: {walk: {hall: 40s}}\n"
      "  plates:\n"
      "    P1: {label: Hall plate, place: hall, switches: {site: 23, zone: 4}}\n"
      "    N1: {place: attic, switches: {site: 5, zone: 0}, neighbour: yes}\n"
      "  modules:\n"
      "    M1: {place: hall, intended: 23/4/1, stored: 23/4/2, power_up: full, scenes: {2: 12.5%}}\n"
      "  bus: {tree: [P1-J1, J1-M1, J1-N1]}\n"
      "start: attic\n"
      "script:\n"
      "  - hold: P1 set\n"
      "    for: 5s\n"
      "    at: 1h 30min\n"
      "    text: off we go\n"
      "  - press: P1 up down\n"
      "  - press: M1 local\n"
      "    for: 1s\n"
      "    bounce: 30ms\n"
      "  - wait: 200s\n"
      "  - walk: hall\n"
      "  - switches: {P1: {site: 24, zone: 5}}\n"
      "  - power: off\n"
      "  - power: {M1: on}\n"
      "  - fault: {noisy: J1-M1, bit_errors: 1 in 1000}\n"
      "  - fault: {stuck: P1 up}\n"
      "  - fault: {deaf: M1, telegrams: 2}\n"
      "  - see: {M1.load: 40 %}\n"
      "  - expect: {M1.address: none, findings: none}\n"
      "  - expect: {findings: [setup-split, unaddressed]}\n"
      "  - note: \"mind: this\"\n"
      "others:\n"
      "  Ann:\n"
      "    - press: P1 up\n"
      "  Ben:\n"
      "    start: attic\n"
      "    script:\n"
      "      - press: P1 up\n";
  CHECK(write_scenario(must_read(text)) == text);
}

TEST_CASE("radio sites keep their coordinates and what blocks them") {
  const std::string text =
      "drybus: 1\ntitle: Radio\nfamily: radio-keypad\nseed: 1\nsite:\n"
      "  places:\n"
      "    a: {at: [0 m, 0 m]}\n"
      "    b: {at: [70.5 m, -1 m], floor: 1, walk: {a: 5s}}\n"
      "    c: {at: [10 m, 0 m]}\n"
      "  plates:\n    P1: {place: a, switches: {site: 23, zone: 4}}\n"
      "  modules:\n    M1: {place: b}\n    M2: {place: c}\n    M3: {place: c}\n"
      "  bus: {radio: [P1, M1, M3], blocked: [P1-M3]}\n"
      "script: []\n";
  const LoadedScenario loaded = must_read(text);
  CHECK(write_scenario(loaded) == text);
  CHECK(loaded.scenario.site.network.links.empty());  // P1-M1 and M1-M3 are beyond reach, P1-M3 is blocked
}

TEST_CASE("buses of their own and devices on none stay as they are") {
  for (const char* bus :
       {"[{line: [M2, P1]}, {line: [M1]}]", "{line: [M1]}", "[{line: [P1]}, {line: [M2, M1]}]",
        "{tree: [P1-M1, P1-M2]}", "{tree: [M1-P1, M1-M2]}", "{line: [P1, M2]}"}) {
    CAPTURE(bus);
    const LoadedScenario loaded =
        must_read(scenario_with_line(10, "    M2: {place: attic}\n  bus: " + std::string{bus}));
    CHECK(said_by(there_and_back(loaded)) == said_by(loaded));
  }
}

TEST_CASE("walks that a way round would shorten are kept") {
  const LoadedScenario loaded =
      must_read(scenario_with_line(5,
                                   "  places: {hall: {}, attic: {walk: {hall: 100s}}, c: {walk: {hall: 10s, "
                                   "attic: 10s}}, d: {walk: {c: 1s}}, e: {}}"));
  CHECK(said_by(there_and_back(loaded)) == said_by(loaded));
}

TEST_CASE("any text comes back as it was") {
  const std::vector<std::string> pieces = {"a",  "B",   " ",   "\n",  ": ",   "#",   "- ",  "'",   "\"", "\\",
                                           "{",  "}",   "[",   "]",   ",",    "&",   "*",   "!",   "|",  ">",
                                           "%",  "@",   "`",   "~",   "null", "yes", "off", "1e3", "ü",  "日",
                                           "\t", "0x1", "---", "...", "?",    "=",   "<<",  "😀"};
  for (const std::uint64_t seed : test::seeds(1'000)) {
    CAPTURE(test::replay(seed, "any text comes back as it was"));
    sim::Stream stream{seed, sim::Purpose::generator, 4};
    const auto text = [&] {
      std::string all;
      for (std::uint64_t i = stream.below(8); i > 0; --i) all += pieces[stream.below(pieces.size())];
      return all;
    };
    const auto line = [&] {
      std::string all = text();
      std::erase(all, '\n');
      return all;
    };
    LoadedScenario loaded = must_read(scenario_with("- note: x\n- wait: 1s"));
    loaded.scenario.title = line();
    loaded.scenario.about = text();
    loaded.scenario.site.plates[0].label = line();
    loaded.scenario.people[0].script[0].text = text();
    loaded.scenario.people[0].script[1].text = text();
    CHECK(said_by(there_and_back(loaded)) == said_by(loaded));
  }
}

TEST_CASE("a script that was changed is written as it is now") {
  LoadedScenario loaded = must_read(scenario_with("- press: P1 up\n- wait: 5s\n- see: {M1.load: lit}"));
  auto& script = loaded.scenario.people[0].script;
  script.erase(script.begin());
  script[0].duration = 7s;
  const LoadedScenario again = there_and_back(loaded);
  REQUIRE(again.scenario.people[0].script.size() == 2);
  CHECK(again.scenario.people[0].script[0].duration == 7s);
}

TEST_CASE("what is written for another folder still finds its family") {
  const Folder folder;
  const LoadedScenario loaded = must_read(scenario_with("- press: P1 up"));
  const WriteOptions options{folder.path(), {{}, nullptr}};
  const auto reading =
      read_scenario(folder.write("found.yaml", write_scenario(loaded, options)), options.reading);
  if (!reading.ok()) MESSAGE(to_text(reading.problems()));
  REQUIRE(reading.ok());
  CHECK(said_by(reading.value()) == said_by(loaded));
  // Where the name finds the same family, the name stays.
  const WriteOptions beside{DRYBUS_SOURCE_DIR "/scenarios/training", {{}, nullptr}};
  CHECK(write_scenario(loaded, beside).find("family: wired-keypad\n") != std::string::npos);
}

}  // namespace
