#include <doctest/doctest.h>

#include "tools/script/catalogue_reader.h"
#include "tools/script/reader.h"

namespace {

using namespace drybus;
using namespace drybus::tools;

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

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
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

TEST_CASE("observations that cannot be true together are refused with both their lines") {
  const std::string text =
      problems(read("  - press: P1 up\n  - seen: {M1.load: lit}\n", "seen: {M1.load: dark}\n"));
  CHECK(has(text, "cannot be true together"));
  CHECK(has(text, "(line 9)"));
  CHECK(has(text, "x.yaml:10:8"));
  CHECK(read("  - press: P1 up\n  - seen: {M1.load: lit}\n", "seen: {M1.load: 40%}\n").ok());
  CHECK(read("  - press: P1 up\n  - seen: {M1.load: lit}\n  - wait: 1s\n", "seen: {M1.load: dark}\n").ok());
}

TEST_CASE("hidden things are no observations") {
  CHECK(has(problems(read("  - expect: {M1.address: 23/4/1}\n")), "'seen' for what is seen"));
  CHECK(has(problems(read("  - wait: 1s\n", "seen: {M1.address: 23/4/1}\n")), "nobody can see"));
}

TEST_CASE("wrong words in a report come with the nearest right one") {
  CHECK(has(problems(read("  - wait: 1s\n", "seeen: {M1.load: lit}\n")), "did you mean 'seen'?"));
  CHECK(has(problems(read("  - seen: {M1.indicator: blinks}\n")), "did you mean 'blink'?"));
  CHECK(has(problems(read("  - wait: about 4\n")), "unit"));
  CHECK_FALSE(
      read_scenario_text(
          "drybus: 1\nfamily: wired-keypad\nsite: {plates: {}, modules: {}}\nscript:\n  - wait: about 4s\n",
          DRYBUS_SOURCE_DIR "/scenarios/x.yaml")
          .ok());
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

}  // namespace
