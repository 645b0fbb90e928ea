#include <doctest/doctest.h>

#include <algorithm>
#include <iterator>
#include <sstream>
#include <string>

#include "model/diagnosis/diagnosis.h"
#include "tests/support/files.h"
#include "tests/support/text.h"
#include "tools/load/load.h"
#include "tools/script/catalogue_reader.h"
#include "tools/script/reader.h"

namespace {

using namespace drybus;
using drybus::tests::has;
using namespace drybus::tools;

constexpr const char* later_causes[] = {"exchanged", "was-in-setup", "other-hands", "dead-load",
                                        "other-power-up"};

/// A report of one plate and two modules, with this script and what is seen.
Reading<LoadedReport> read(const std::string& script, const std::string& rest = "") {
  return read_report_text(
      "drybus-report: 1\nfamily: wired-keypad\nsite:\n  plates: {P1: {switches: {site: 23, zone: 4}}}\n"
      "  modules: {M1: {}, M2: {}}\n  bus: {line: [P1, M1, M2]}\nscript:\n" +
          script + rest,
      DRYBUS_SOURCE_DIR "/scenarios/reports/x.yaml");
}

std::string problems(const Reading<LoadedReport>& reading) {
  return reading.ok() ? "" : to_text(reading.problems());
}

TEST_CASE("a report's times may be only about right") {
  const auto reading = read("  - wait: about 4 min\n  - hold: M1 local\n    for: about 4s\n  - wait: 10s\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  const model::Report& report = reading.value().report;
  CHECK(report.loose == std::vector<std::uint32_t>{0, 1});
  CHECK(report.believed.people.front().script[0].duration == std::chrono::minutes{4});
}

TEST_CASE("what is seen is taken out of the script, and knows after which step it was seen") {
  const auto reading = read(
      "  - press: P1 up\n  - seen: {M1.load: lit}\n  - see: {M2.indicator: blip, unsure: yes}\n  - wait: "
      "1s\n",
      "seen:\n  - {M1.indicator: dark}\n  - {M2.load: 40%, unsure: yes}\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  const model::Report& report = reading.value().report;
  CHECK(report.believed.people.front().script.size() == 2);
  REQUIRE(report.seen.size() == 4);
  CHECK(report.seen[0].after_step == 0u);
  CHECK_FALSE(report.seen[0].unsure);
  CHECK(report.seen[1].what == "blip");
  CHECK(report.seen[1].unsure);
  CHECK_FALSE(report.seen[2].after_step);
  CHECK(report.seen[3].what == "40 %");
  CHECK(report.seen[3].unsure);
}

TEST_CASE("what is seen when all was done is seen now") {
  const auto reading = read("  - press: P1 up\n  - seen: {M1.load: lit}\n");
  REQUIRE(reading.ok());
  CHECK_FALSE(reading.value().report.seen.front().after_step);
}

TEST_CASE("observations that cannot be true together are two statements") {
  const auto reading = read("  - press: P1 up\n  - seen: {M1.load: lit}\n", "seen: {M1.load: dark}\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  REQUIRE(reading.value().report.seen.size() == 2);
  CHECK(reading.value().report.seen[0].what == "lit");
  CHECK(reading.value().report.seen[1].what == "dark");
}

TEST_CASE("lamps and loads are on, off, dark or steady, and devices stand for what they show") {
  const auto reading = read("  - press: P1 up\n",
                            "seen:\n  - {M1: on, M2.load: off}\n  - {M1.lamp: on, M2: blinks, P1: dark}\n"
                            "  - {M1.load: steady, M2.indicator: steady}\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  const auto& seen = reading.value().report.seen;
  REQUIRE(seen.size() == 7);
  const std::vector<std::pair<model::Fact, std::string>> wanted = {
      {model::Fact::load, "lit"},        {model::Fact::load, "dark"},      {model::Fact::indicator, "steady"},
      {model::Fact::indicator, "blink"}, {model::Fact::indicator, "dark"}, {model::Fact::load, "lit"},
      {model::Fact::indicator, "steady"}};
  for (std::size_t i = 0; i < wanted.size(); ++i) {
    CAPTURE(i);
    CHECK(seen[i].fact == wanted[i].first);
    CHECK(seen[i].what == wanted[i].second);
  }
}

TEST_CASE("a step of which nobody is sure is known, and makes its slips likelier") {
  const auto reading = read("  - press: P1 up\n  - {hold: M1 local, for: 4s, unsure: yes}\n  - wait: 1s\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  CHECK(reading.value().report.unsure_steps == std::vector<std::uint32_t>{1});
}

/// A report told in few words.
Reading<LoadedReport> read_short(const std::string& text) {
  return read_report_text("drybus-report: 1\nfamily: wired-keypad\n" + text,
                          DRYBUS_SOURCE_DIR "/scenarios/reports/x.yaml");
}

TEST_CASE(
    "a call of five sentences is ten lines: plates and modules in a word, addressed, never, a complaint") {
  const auto reading = read_short(
      "site: {plates: {P1: 12/2}, modules: [Table, Wall, Screen, Entrance]}\n"
      "script:\n"
      "  - addressed: {with: P1, modules: [Table, wall, Screen]}\n"
      "  - {addressed: {with: P1, modules: Entrance}, unsure: yes}\n"
      "seen: {Table: on, Wall: on}\n"
      "never: Screen blips\n"
      "complaint: {never: Entrance reacts}\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  const model::Report& report = reading.value().report;
  const model::Site& site = report.believed.site;
  CHECK(site.plates[0].site == 12);
  CHECK(site.plates[0].zone == 2);
  REQUIRE(site.modules.size() == 4);
  CHECK(site.modules[3].name == "M4");
  CHECK(site.modules[3].label == "Entrance");
  CHECK(site.modules[3].intended == model::Address{12, 2, 4});
  // Told, their plate is put in setup once for each of the two steps, and each module once.
  const auto& script = report.believed.people.front().script;
  CHECK(std::count_if(script.begin(), script.end(),
                      [](const model::Step& step) { return step.kind == model::StepKind::hold; }) == 6);
  CHECK_FALSE(report.unsure_steps.empty());
  // It was tried, on and off, and the module stayed as it was: lit or dark, nobody said.
  std::size_t believed = 0;
  for (const model::Seen& seen : report.seen) {
    if (!seen.believed) continue;
    ++believed;
    CHECK(site.name(seen.device) == "M4");
    CHECK(seen.what == "as it was");
  }
  CHECK(believed == 2);
}

TEST_CASE(
    "modules of which nothing is said but where they belong have their addresses, unless the story gives "
    "them") {
  const auto reading = read_short(
      "site: {plates: {P1: 12/2}, modules: {A: 12/2/1, B: 12/2/2}}\n"
      "script:\n  - addressed: {with: P1, modules: B}\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  const auto& modules = reading.value().report.believed.site.modules;
  CHECK(modules[0].memory.address == model::Address{12, 2, 1});
  CHECK(modules[0].memory.power_up == model::PowerUp::off);
  CHECK_FALSE(modules[1].memory.addressed());
}

TEST_CASE("labels stand for names where they are one device's, and both are told where they are not") {
  const std::string site =
      "site:\n  plates: {P1: {label: Hall plate, switches: {site: 23, zone: 4}}}\n"
      "  modules: {M1: {label: Spots}, M2: {label: Spots}, M3: {label: North door}}\nscript:\n";
  const auto fine = read_short(site +
                               "  - press: Hall plate up\n  - {hold: north door local, for: 4s}\n"
                               "  - power: {North door: off}\nseen: {North door.load: dark}\n");
  CAPTURE(problems(fine));
  CHECK(fine.ok());
  const auto both = read_short(site + "  - {hold: Spots local, for: 4s}\n");
  CHECK(has(problems(both), "'Spots' is both M1 and M2"));
  // In a scenario names are names.
  CHECK_FALSE(read_scenario_text("drybus: 1\nfamily: wired-keypad\n" + site + "  - press: Hall plate up\n",
                                 DRYBUS_SOURCE_DIR "/scenarios/x.yaml")
                  .ok());
}

TEST_CASE("a plate whose switches nobody knows is as its modules want it, until somebody reads it") {
  const std::string site = "site: {plates: {P1: unknown}, modules: {M1: 7/3/1, M2: 7/3/2}}\nscript: []\n";
  const auto unknown = read_short(site);
  CAPTURE(problems(unknown));
  REQUIRE(unknown.ok());
  CHECK(unknown.value().report.believed.site.plates[0].site == 7);
  CHECK(unknown.value().report.unread == std::vector<model::DeviceId>{0});
  const auto known = read_short(site + "seen: {P1.switches: 7/4}\n");
  CAPTURE(problems(known));
  REQUIRE(known.ok());
  CHECK(known.value().report.believed.site.plates[0].zone == 4);
  CHECK(known.value().report.unread.empty());
  CHECK(has(problems(read_short("site: {plates: {P1: unknown}, modules: 3}\nscript: []\n")), "nobody knows"));
  CHECK(has(problems(read_short("site: {plates: {P1: 23-4}, modules: 3}\nscript: []\n")), "site/zone"));
  CHECK(has(problems(read_short("site: {plates: {P1: 64/4}, modules: 3}\nscript: []\n")), "0 to 63"));
}

TEST_CASE("the answers of a guided repair go on with the story") {
  const auto reading = read_short(
      "site: {plates: {P1: 7/3}, modules: 2}\nscript:\n  - press: P1 up\nseen: {M1: on}\nanswers:\n"
      "- check: \"Press down on P1: does the lamp of M1 blip?\"\n  answer: yes\n"
      "  steps: [{wait: 12s}, {press: P1 down}, {seen: {M1.indicator: blip}}, {wait: 1500ms}]\n"
      "- check: Read the switches of P1\n  answer: no\n  steps: [{wait: 12s}]\n  seen: {P1.switches: 7/5}\n"
      "- check: Look round\n  answer: cannot\n");
  CAPTURE(problems(reading));
  REQUIRE(reading.ok());
  const LoadedReport& loaded = reading.value();
  CHECK(loaded.call.believed.people.front().script.size() == 1);
  CHECK(loaded.call.seen.size() == 1);
  REQUIRE(loaded.answers.size() == 3);
  CHECK(loaded.answers[2].answer == "cannot");
  const model::Report& report = loaded.report;
  CHECK(report.believed.people.front().script.size() == 5);
  REQUIRE(report.seen.size() == 2);
  CHECK(report.seen[0].after_step == 0u);  // it was now when it was told
  CHECK(report.seen[1].after_step == 2u);
  CHECK(report.believed.site.plates[0].zone == 5);
}

TEST_CASE("answers that are none are refused at their place") {
  const std::string site = "site: {plates: {P1: 7/3}, modules: 2}\nscript: []\nanswers:\n";
  CHECK(has(problems(read_short(site + "- check: Look\n  answer: maybe\n")), "one of: yes, no"));
  CHECK(has(problems(read_short(site + "- answer: yes\n")), "what was asked?"));
  CHECK(has(problems(read_short(site + "- {check: Look, proof: Look, answer: yes}\n")), "one question"));
  CHECK(has(problems(read_short(site + "- {cure: Hold it, answer: yes}\n")), "one of: done, not so"));
  CHECK(read_short(site).ok());
  CHECK(has(problems(read_short("intake:\n- Something\n")), "has not been told to its end"));
}

TEST_CASE("hidden things are no observations") {
  CHECK(has(problems(read("  - expect: {M1.address: 23/4/1}\n")), "'seen' for what is seen"));
  CHECK(has(problems(read("  - wait: 1s\n", "seen: {M1.address: 23/4/1}\n")), "nobody can see"));
}

TEST_CASE("wrong words in a report come with the nearest right one") {
  CHECK(has(problems(read("  - wait: 1s\n", "seeen: {M1.load: lit}\n")), "did you mean 'seen'?"));
  CHECK(has(problems(read("  - seen: {M1.indicator: blnik}\n")), "did you mean 'blink'?"));
  CHECK(has(problems(read("  - wait: about 4\n")), "unit"));
  CHECK_FALSE(
      read_scenario_text(
          "drybus: 1\nfamily: wired-keypad\nsite: {plates: {}, modules: {}}\nscript:\n  - wait: about 4s\n",
          DRYBUS_SOURCE_DIR "/scenarios/x.yaml")
          .ok());
}

TEST_CASE("who calls need not have done anything, and what they misspell has a right word near it") {
  const auto thin = read_short("site: {plates: {P1: 23/4}, modules: [Table, Wall]}\nseen: {Table: off}\n");
  REQUIRE(thin.ok());
  CHECK(thin.value().call.believed.people.front().script.empty());
  CHECK(thin.value().call.seen.size() == 1);
  CHECK(has(problems(read_short(
                "site: {plates: {P1: 23/4}, modules: [Table, Wall]}\nscript: []\nseen: {Tabel: off}\n")),
            "did you mean 'Table'?"));
  CHECK(has(problems(read_short("site: {plates: {P1: unknwon}, modules: [Table]}\nscript: []\n")),
            "did you mean 'unknown'?"));
}

TEST_CASE("the catalogue that ships gives a chance and a source for every cause") {
  const auto reading = read_catalogue(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml");
  REQUIRE(reading.ok());
  for (const model::Mishap cause : sim::all_of<model::Mishap>()) {
    const model::Catalogue::Entry& entry = reading.value().entries[cause];
    CAPTURE(to_string(cause));
    CHECK(entry.chance > 0);
    CHECK(entry.chance <= 0.5);
    CHECK_FALSE(entry.source.empty());
    CHECK(model::parse_mishap(to_string(cause)) == cause);
  }
}

TEST_CASE("a catalogue written before some causes came is read, and nothing is explained by these") {
  std::string text;
  std::istringstream lines{tests::content_of(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml")};
  for (std::string line; std::getline(lines, line);) {
    const bool later = std::any_of(std::begin(later_causes), std::end(later_causes), [&](const char* cause) {
      return line.starts_with("  " + std::string{cause} + ":");
    });
    if (!later) text += line + "\n";
  }
  const tests::Folder folder;
  const auto reading = read_catalogue(folder.write("catalogue.yaml", text));
  REQUIRE(reading.ok());
  for (const char* cause : later_causes) CHECK(reading.value().chance(*model::parse_mishap(cause)) == 0);

  const auto told = load_report(DRYBUS_SOURCE_DIR "/scenarios/reports/the-fourth-just-sits-there.yaml");
  const model::Diagnosis diagnosis = model::diagnose(told.call, reading.value());
  REQUIRE_FALSE(diagnosis.explanations.empty());
  for (const model::RankedExplanation& each : diagnosis.explanations) {
    for (const model::Account& way : each.ways) {
      CHECK(std::none_of(way.causes.begin(), way.causes.end(), [&](const model::PlacedCause& placed) {
        return reading.value().chance(placed.cause) == 0;
      }));
    }
  }
}

}  // namespace
