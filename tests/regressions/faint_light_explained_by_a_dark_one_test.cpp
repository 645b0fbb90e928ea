// Two lights came up to 15 % only, and what was offered for it would have left both of them dark: a dead plate, a broken bus.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "model/diagnosis/diagnosis.h"
#include "tests/support/catalogue.h"
#include "tests/support/files.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;

const std::string creeps_up = R"(drybus-report: 1
title: "It only creeps up a little"
family: wired-keypad
site:
  plates:
    P1: {label: Door plate, switches: {site: 21, zone: 3}}
  modules:
    M1: {label: Window, intended: 21/3/1, stored: 21/3/1}
    M2: {label: Table, intended: 21/3/2, stored: 21/3/2}
script:
  - press: P1 down
  - wait: 2s
  - press: P1 up
  - wait: 2s
seen:
  - {M1.load: LEVEL, M2.load: LEVEL}
)";

Diagnosis of_level(const std::string& level) {
  const tests::Folder folder;
  std::string text = creeps_up;
  for (std::size_t at = text.find("LEVEL"); at != std::string::npos; at = text.find("LEVEL"))
    text.replace(at, 5, level);
  return diagnose(tools::load_report(folder.write("level.yaml", text)).call, tests::shipped_catalogue());
}

TEST_SUITE("regressions") {
  TEST_CASE("a light that is on, however faint, is not explained by one that is off") {
    for (const char* level : {"15%", "5%"}) {
      CAPTURE(level);
      for (const RankedExplanation& explanation : of_level(level).explanations) {
        const World& world = *explanation.ways.front().world;
        const bool both_dark = world.loads[0].at(world.now) == 0 && world.loads[1].at(world.now) == 0;
        CAPTURE(explanation.text);
        if (both_dark) CHECK(explanation.contradicted.size() == 2);
      }
    }
  }

  TEST_CASE("people tell brightness about so well") {
    const Diagnosis diagnosis = of_level("97%");
    REQUIRE_FALSE(diagnosis.explanations.empty());
    CHECK(diagnosis.explanations.front().faults.empty());
    CHECK(diagnosis.explanations.front().contradicted.empty());
  }
}

}  // namespace
