// "It never reacts", somebody said, and not whether it was lit or dark; it was taken to be lit, and what was true, which had
// left it dark, was ruled out.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "model/diagnosis/diagnosis.h"
#include "tests/support/catalogue.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;

const std::string sits_there = R"(drybus-report: 1
title: The fourth just sits there
family: wired-keypad
site: {plates: {P1: {label: Door plate, switches: 12/2}}, modules: [Table, Wall, Screen, Entrance]}
script:
  - addressed: {with: Door plate, modules: [Table, Wall, Screen]}
  - {addressed: {with: Door plate, modules: Entrance}, unsure: yes}
seen: {Table: on, Wall: on, Screen: on}
complaint: {never: Entrance reacts}
)";

/// Of the ways in which the module's button was let go before it blinked.
double let_go_early(const Diagnosis& diagnosis, DeviceId module) {
  double probability = 0;
  for (const RankedExplanation& explanation : diagnosis.explanations) {
    for (const Account& way : explanation.ways) {
      const bool is_it =
          std::any_of(way.causes.begin(), way.causes.end(), [module](const PlacedCause& cause) {
            return cause.cause == Mishap::let_go_early && cause.device == module;
          });
      if (is_it) probability += way.probability;
    }
  }
  return probability;
}

TEST_SUITE("regressions") {
  TEST_CASE("what never reacts stays as it was, lit or dark") {
    const tests::Folder folder;
    const std::string file = folder.write("sits.yaml", sits_there);
    const Report report = tools::load_report(file).call;
    const Diagnosis diagnosis = diagnose(report, tests::shipped_catalogue());
    REQUIRE_FALSE(diagnosis.explanations.empty());
    CHECK(let_go_early(diagnosis, report.believed.site.module_id(3)) > 0.1);

    const tests::Ran told = tests::drybus_program("diagnose " + file);
    CHECK(told.exit_code == 0);
    CHECK(told.out.find("M4's load is lit") == std::string::npos);
    CHECK(told.out.find("M4's load stays as it was") != std::string::npos);
  }

  TEST_CASE("somebody who says whether it is lit is taken at their word") {
    const tests::Folder folder;
    std::string text = sits_there;
    text.replace(text.find("Screen: on}"), 11, "Screen: on, Entrance: off}");
    const Report report = tools::load_report(folder.write("sits.yaml", text)).call;
    CHECK(std::none_of(report.seen.begin(), report.seen.end(), [&](const Seen& seen) {
      return seen.device == report.believed.site.module_id(3) && seen.what != "dark";
    }));
  }
}

}  // namespace
