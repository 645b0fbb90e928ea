// What a scenario says is what is read.
#include "tools/script/reader.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>

#include "model/run/run.h"
#include "tests/support/files.h"
#include "tests/support/printing.h"
#include "tests/support/script_text.h"

namespace {

using namespace drybus;
using namespace drybus::tests;
using namespace drybus::tools;
using namespace std::chrono_literals;
using model::FaultKind;
using model::Step;
using model::StepKind;

namespace fs = std::filesystem;

/// A little of everything that a scenario can say.
const char* const example = R"(drybus: 1
title: Short of the sluice
about: |
  The mill pendant is addressed by a plate that has moved on to another zone.
family: wired-keypad
seed: 11
site:
  places: {mill: {}, sluice: {walk: {mill: 40s}}}
  plates:
    P1: {label: Mill plate, place: mill, switches: {site: 23, zone: 4}}
  modules:
    M1: {label: Mill pendant, place: mill, intended: 23/4/1}
    M2: {label: Sluice spots, place: sluice, intended: 23/4/2}
  bus: {line: [P1, M1, M2]}
script:
  - hold: P1 set
    for: 3s
  - press: P1 up
  - wait: 200s
  - hold: M1 local
    for: 4s
  - fault: {open: P1-M1}
  - power: {M2: off}
  - switches: {P1: {zone: 5}}
  - press: P1 accept
  - see: {M1.indicator: blink}
  - expect: {M1.address: 23/4/1, M1.mode: normal}
  - expect: {findings: [assign-unheard, unaddressed]}
)";

TEST_CASE("an example reads as it is meant") {
  const LoadedScenario loaded = must_read(example);
  const model::Scenario& scenario = loaded.scenario;
  CHECK(scenario.title == "Short of the sluice");
  CHECK(scenario.about == "The mill pendant is addressed by a plate that has moved on to another zone.\n");
  CHECK(scenario.seed == 11);
  CHECK(loaded.family_ref == "wired-keypad");
  CHECK(scenario.site.family.name == "wired-keypad");

  const model::Site& site = scenario.site;
  REQUIRE(site.places.size() == 2);
  CHECK(site.places[1].name == "sluice");
  CHECK(site.walk(0, 1) == 40s);
  CHECK(site.walk(1, 0) == 40s);
  CHECK(site.plates[0].label == "Mill plate");
  CHECK(site.plates[0].site == 23);
  CHECK(site.plates[0].zone == 4);
  CHECK(site.modules[1].intended == model::Address{23, 4, 2});
  CHECK(site.modules[1].place == 1);
  CHECK(site.link_name(0) == "P1-M1");
  CHECK(site.link_name(1) == "M1-M2");

  REQUIRE(scenario.people.size() == 1);
  CHECK(scenario.people[0].name == "installer");
  const std::vector<Step>& script = scenario.people[0].script;
  REQUIRE(script.size() == 11);
  CHECK(script[0].kind == StepKind::hold);
  CHECK(script[0].device == 0);
  CHECK(script[0].buttons == model::only(0));
  CHECK(script[0].duration == 3s);
  CHECK(script[0].mark.line == 16);
  CHECK(script[0].mark.column == 5);
  CHECK(script[1].kind == StepKind::press);
  CHECK(script[1].buttons == model::only(1));
  CHECK(script[1].duration == 200ms);
  CHECK(script[2].duration == 200s);
  CHECK(script[3].device == 1);
  CHECK(script[3].buttons == 1);
  CHECK(script[4].fault.kind == FaultKind::open);
  CHECK(script[4].fault.link == 0);
  CHECK(script[5].device == 2);
  CHECK_FALSE(script[5].on);
  CHECK_FALSE(script[6].site);
  CHECK(script[6].zone == std::uint8_t{5});
  CHECK(script[8].checks == std::vector<std::uint32_t>{0});
  CHECK(script[9].checks == std::vector<std::uint32_t>{1, 2});
  REQUIRE(scenario.checks.size() == 4);
  CHECK(scenario.checks[0].seen);
  CHECK(scenario.checks[0].wanted == std::vector<std::string>{"blink"});
  CHECK(scenario.checks[1].wanted == std::vector<std::string>{"23/4/1"});
  CHECK(scenario.checks[1].mark.line == 27);
  CHECK(scenario.checks[1].mark.column == 14);
  CHECK(scenario.checks[2].fact == model::Fact::mode);
  CHECK(scenario.checks[3].fact == model::Fact::findings);
  CHECK(scenario.checks[3].wanted == std::vector<std::string>{"assign-unheard", "unaddressed"});
  CHECK(model::run(scenario).checks.size() == 4);
}

TEST_CASE("what is left out has a sensible meaning") {
  const LoadedScenario loaded = must_read(
      "drybus: 1\nfamily: wired-keypad\nsite:\n  plates: {P1: {switches: {site: 1, zone: 0}}}\n  modules: "
      "{M1: {}, M2:"
      " {}}\nscript: []\n");
  const model::Scenario& scenario = loaded.scenario;
  CHECK(scenario.title == "test");
  CHECK(scenario.seed == 1);
  CHECK(scenario.times.press == 200ms);
  CHECK(scenario.times.pause == 300ms);
  CHECK(scenario.people[0].place == 0);
  REQUIRE(scenario.site.places.size() == 1);
  CHECK(scenario.site.modules[0].memory == model::factory_memory(scenario.site.family.module));
  CHECK_FALSE(scenario.site.modules[0].intended);
  CHECK(scenario.site.network.media.size() == 1);
  CHECK(scenario.site.link_name(0) == "P1-M1");
  CHECK(scenario.site.link_name(1) == "M1-M2");
}

/// The steps that these lines read as.
std::vector<Step> steps(const std::string& text) {
  return must_read(scenario_with(text)).scenario.people[0].script;
}
Step step(const std::string& text) {
  const auto all = steps(text);
  REQUIRE(all.size() == 1);
  return all[0];
}

TEST_CASE("presses name a device and its buttons") {
  CHECK(step("- press: P1 up").buttons == model::only(1));
  CHECK(step("- press: P1 up down").buttons == (model::only(1) | model::only(2)));
  CHECK(step("- press: M1").buttons == 1);
  CHECK(step("- press: M1 local").buttons == 1);
  CHECK(step("- press: P1 off").buttons == model::only(4));  // a plain word, not a YAML 1.1 "false"
  CHECK(step("- press: P1 up\n  for: 50ms").duration == 50ms);
  CHECK(step("- press: P1 up\n  bounce: 30ms").bounce == 30ms);
  CHECK(step("- {press: P1 up, for: 1s}").duration == 1s);
}

TEST_CASE("people press for as long as the scenario says") {
  std::string text = scenario_with("- press: P1 up\n- press: P1 up\n  for: 1s");
  text += "people: {press: 90ms, pause: 0s}\n";
  const LoadedScenario loaded = must_read(text);
  CHECK(loaded.scenario.people[0].script[0].duration == 90ms);
  CHECK(loaded.scenario.people[0].script[1].duration == 1s);
  CHECK(loaded.scenario.times.pause == 0s);
}

TEST_CASE("several plates or devices in one step are several steps") {
  const auto switched = steps("- switches: {P1: {site: 24, zone: 5}}\n  text: wrong pair");
  CHECK(switched[0].site == std::uint8_t{24});
  CHECK(switched[0].text == "wrong pair");
  const auto powered = steps("- power: {M1: off, P1: on}\n  at: 1min\n  comment: the fuse");
  REQUIRE(powered.size() == 2);
  CHECK(powered[0].at == sim::start_of_run + 1min);
  CHECK(powered[0].text == "the fuse");
  CHECK_FALSE(powered[0].on);
  CHECK_FALSE(powered[1].at);
  CHECK(powered[1].device == 0);
  CHECK(powered[1].on);
}

TEST_CASE("power goes for one or for all") {
  CHECK(step("- power: off").device == model::no_device);
  CHECK_FALSE(step("- power: off").on);
  CHECK(step("- power: on").on);
  CHECK(step("- power: {all: off}").device == model::no_device);
  CHECK(step("- power: {M2: off}").device == 2);
}

TEST_CASE("every kind of fault reads") {
  const auto fault = [](const std::string& text) { return step("- fault: {" + text + "}").fault; };
  CHECK(fault("open: M2-M1").kind == FaultKind::open);
  CHECK(fault("open: M2-M1").link == 1);  // a link is the same from both ends
  CHECK(fault("short: P1-M1").kind == FaultKind::shorted);
  CHECK(fault("noisy: P1-M1, bit_errors: 1e-3").bit_error_ppb == 1'000'000);
  CHECK(fault("noisy: P1-M1, bit_errors: 1 in 500").bit_error_ppb == 2'000'000);
  CHECK(fault("mend: P1-M1").kind == FaultKind::mend);
  CHECK(fault("stuck: P1 up").button == 1);
  CHECK(fault("stuck: M1").device == 1);
  CHECK(fault("free: M1 local").kind == FaultKind::freed);
  CHECK(fault("deaf: M2").count == 1);
  CHECK(fault("deaf: M2, telegrams: 3").count == 3);
}

TEST_CASE("what is looked for is kept in the words of the output") {
  const auto check = [](const std::string& text) {
    return must_read(scenario_with("- " + text)).scenario.checks.at(0).wanted;
  };
  using Words = std::vector<std::string>;
  CHECK(check("see: {M1.load: 100%}") == Words{"100 %"});
  CHECK(check("see: {M1.load: lit}") == Words{"lit"});
  CHECK(check("see: {M1.load: dark}") == Words{"dark"});
  CHECK(check("see: {P1.indicator: refuse}") == Words{"refuse"});
  CHECK(check("expect: {M1.level: 12.50 %}") == Words{"12.5 %"});
  CHECK(check("expect: {M1.address: none}") == Words{"none"});
  CHECK(check("expect: {M1.address: 23/04/1}") == Words{"23/4/1"});
  CHECK(check("expect: {M1.power_up: off}") == Words{"off"});
  CHECK(check("expect: {P1.channel: 0}") == Words{"0"});
  CHECK(check("expect: {P1.site: 23}") == Words{"23"});
  CHECK(check("expect: {findings: none}") == Words{});
  CHECK(check("expect: {findings: []}") == Words{});
  CHECK(check("expect: {findings: unaddressed}") == Words{"unaddressed"});
}

TEST_CASE("repeats are written out, each with checks of its own") {
  const LoadedScenario loaded =
      must_read(scenario_with("- repeat: 3\n  text: three times\n  at: 10s\n  steps:\n    - press: P1 up\n   "
                              " - repeat: 2\n      steps:\n"
                              "        - expect: {P1.channel: 0, P1.mode: normal}"));
  const auto& script = loaded.scenario.people[0].script;
  REQUIRE(script.size() == 9);
  CHECK(script[0].at == sim::start_of_run + 10s);
  CHECK(script[0].text == "three times");
  CHECK_FALSE(script[3].at);
  CHECK(script[3].text.empty());
  CHECK(loaded.scenario.checks.size() == 12);
  std::vector<std::uint32_t> used;
  for (const Step& each : script) used.insert(used.end(), each.checks.begin(), each.checks.end());
  std::sort(used.begin(), used.end());
  for (std::uint32_t i = 0; i < 12; ++i) CHECK(used[i] == i);
  CHECK(script[8].mark.line == script[2].mark.line);
}

TEST_CASE("other people act on their own clock and stand where they are first needed") {
  std::string text = scenario_with("- wait: 1s");
  text += "others:\n  Ann:\n    - press: M2\n      at: 3s\n  Ben: {start: attic, script: [{press: P1 up}]}\n";
  const LoadedScenario loaded = must_read(text);
  REQUIRE(loaded.scenario.people.size() == 3);
  CHECK(loaded.scenario.people[1].name == "Ann");
  CHECK(loaded.scenario.people[1].place == 1);
  CHECK(loaded.scenario.people[1].script[0].at == sim::start_of_run + 3s);
  CHECK(loaded.scenario.people[2].place == 1);
}

TEST_CASE("the installer begins where the scenario says") {
  std::string text = scenario_with("- wait: 1s") + "start: attic\n";
  CHECK(must_read(text).scenario.people[0].place == 1);
}

TEST_CASE("anchors, aliases, tags, quotes, comments and block texts are plain YAML") {
  const auto script = steps(
      "- &step {press: P1 up}  # once\n- *step\n- \"press\": 'P1 up'\n- !whatever\n  note: >\n    folded\n   "
      " text\n");
  REQUIRE(script.size() == 4);
  CHECK(script[1].buttons == script[0].buttons);
  CHECK(script[2].buttons == script[0].buttons);
  CHECK(script[3].text == "folded text\n");
}

// --- other files ---

const ReadOptions nowhere_else{{}, nullptr};
const ReadOptions shipped{{DRYBUS_SOURCE_DIR "/scenarios/families"}, nullptr};

std::string family_text() {
  return content_of(DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml");
}

std::string first_message(const Reading<LoadedScenario>& reading) {
  REQUIRE_FALSE(reading.ok());
  return reading.problems()[0].message;
}

TEST_CASE("included steps are read from beside the file that names them, and marked as theirs") {
  const Folder folder;
  folder.write("parts/enter.yaml",
               "about: both\nsteps:\n  - include: deeper/plate.yaml\n  - hold: M1\n    for: 4s\n");
  folder.write("parts/deeper/plate.yaml", "steps:\n  - hold: P1 set\n    for: 5s\n");
  const fs::path main =
      folder.write("a.yaml", scenario_with("- include: parts/enter.yaml\n  text: both at once\n- wait: 1s"));
  const auto reading = read_scenario(main, shipped);
  REQUIRE(reading.ok());
  const LoadedScenario& loaded = reading.value();
  const auto& script = loaded.scenario.people[0].script;
  REQUIRE(script.size() == 3);
  CHECK(script[0].kind == StepKind::hold);
  CHECK(script[0].text == "both at once");
  CHECK(script[1].device == 1);
  REQUIRE(loaded.sources.size() == 4);  // the scenario, its family, and both parts
  CHECK(loaded.scenario.files[0] == main.string());
  CHECK(loaded.scenario.files[script[0].mark.file] == (folder.path() / "parts/deeper/plate.yaml").string());
  CHECK(script[0].mark.line == 2);
  for (std::size_t i = 0; i < loaded.sources.size(); ++i)
    CHECK(loaded.sources[i].path == loaded.scenario.files[i]);
}

TEST_CASE("files that include one another are refused") {
  const Folder folder;
  folder.write("b.yaml", "steps:\n  - include: c.yaml\n");
  folder.write("c.yaml", "steps:\n  - include: ./b.yaml\n");
  const auto reading = read_scenario(folder.write("a.yaml", scenario_with("- include: b.yaml")), shipped);
  CHECK(first_message(reading) == "'./b.yaml' would include itself");
  CHECK(reading.problems()[0].file == (folder.path() / "c.yaml").string());
}

TEST_CASE("includes do not go deeper than sixteen files") {
  const Folder folder;
  for (int i = 0; i < 30; ++i) {
    folder.write("i" + std::to_string(i) + ".yaml",
                 "steps:\n  - include: i" + std::to_string(i + 1) + ".yaml\n");
  }
  const auto reading = read_scenario(folder.write("a.yaml", scenario_with("- include: i0.yaml")), shipped);
  CHECK(first_message(reading) == "more than 16 files deep, or 1000 in all");
}

TEST_CASE("a problem in an included file is told there") {
  const Folder folder;
  folder.write("part.yaml", "steps:\n  - press: P1 ip\n");
  const auto reading = read_scenario(folder.write("a.yaml", scenario_with("- include: part.yaml")), shipped);
  CHECK(first_message(reading) == "unknown button 'ip'");
  CHECK(reading.problems()[0].file == (folder.path() / "part.yaml").string());
  CHECK(reading.problems()[0].line == 2);
  CHECK(reading.problems()[0].line_text == "  - press: P1 ip");
}

const char* const site_text =
    "drybus-site: 1\nfamily: wired-keypad\nplates: {P1: {switches: {site: 1, zone: 1}}}\nmodules: {M1: {}}\n";

TEST_CASE("a site may stand in a file of its own, which names its family") {
  const Folder folder;
  folder.write("sites/hall.yaml", site_text);
  const auto reading = read_scenario(
      folder.write("a.yaml", "drybus: 1\nsite: sites/hall.yaml\nscript: [{press: P1 up}]\n"), shipped);
  REQUIRE(reading.ok());
  CHECK(reading.value().scenario.site.plates[0].name == "P1");
  CHECK(reading.value().family_ref == "wired-keypad");

  const auto site = read_site(folder.path() / "sites/hall.yaml", shipped);
  REQUIRE(site.ok());
  CHECK(site.value().site.modules[0].name == "M1");
}

TEST_CASE("a scenario and its site file agree on the family") {
  const Folder folder;
  folder.write("hall.yaml", site_text);
  const auto both = [&](const std::string& family) {
    return read_scenario(
        folder.write("a.yaml", "drybus: 1\nfamily: " + family + "\nsite: hall.yaml\nscript: []\n"), shipped);
  };
  CHECK(both("wired-keypad").ok());
  CHECK(first_message(both("radio-keypad")) == "the site is of another family, 'wired-keypad'");
}

TEST_CASE("a site file without a family is no site by itself") {
  const Folder folder;
  const auto site = read_site(folder.write("s.yaml", "drybus-site: 1\nplates: {}\nmodules: {}\n"), shipped);
  REQUIRE_FALSE(site.ok());
  CHECK(site.problems()[0].message == "the key 'family' is missing");
}

TEST_CASE("families are found beside the scenario, above it, and then where the options say") {
  const Folder folder;
  const fs::path deep = folder.write("a/b/c.yaml", scenario_with("- wait: 1s"));
  CHECK(first_message(read_scenario(deep, nowhere_else)) == "unknown family 'wired-keypad'");
  CHECK(read_scenario(deep, nowhere_else).problems()[0].expected ==
        "a file families/NAME.yaml beside this one or above it, or in $DRYBUS_FAMILIES");
  CHECK(read_scenario(deep, shipped).value().family_file == DRYBUS_SOURCE_DIR
        "/scenarios/families/wired-keypad.yaml");
  folder.write("families/wired-keypad.yaml", family_text());
  CHECK(read_scenario(deep, shipped).value().family_file == folder.path() / "families/wired-keypad.yaml");
  folder.write("a/b/families/wired-keypad.yaml", family_text());
  CHECK(read_scenario(deep, nowhere_else).value().family_file ==
        folder.path() / "a/b/families/wired-keypad.yaml");
}

TEST_CASE("a family may be named by its file") {
  const Folder folder;
  folder.write("mine.yaml", family_text());
  std::string text = scenario_with("- wait: 1s");
  text.replace(text.find("wired-keypad"), 12, "mine.yaml");
  const auto reading = read_scenario(folder.write("a.yaml", text), nowhere_else);
  REQUIRE(reading.ok());
  CHECK(reading.value().scenario.site.family.name == "mine");
}

TEST_CASE("a scenario that was brought along needs no disk") {
  const std::string text = scenario_with("- include: part.yaml");
  const BundledFiles files{{{"x/a.yaml", text},
                            {"x/part.yaml", "steps: [{press: P1 up}]"},
                            {"families/wired-keypad.yaml", family_text()}}};
  const ReadOptions options{{}, &files};
  const auto reading = read_scenario("x/a.yaml", options);
  REQUIRE(reading.ok());
  CHECK(reading.value().family_file == "families/wired-keypad.yaml");
  CHECK(reading.value().scenario.people[0].script.size() == 1);
  const BundledFiles without_family{{{"x/a.yaml", text}}};
  CHECK_FALSE(read_scenario("x/a.yaml", ReadOptions{{}, &without_family}).ok());
}

}  // namespace
