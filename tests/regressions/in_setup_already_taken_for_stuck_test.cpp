// Somebody else had left a module in setup. The installer's hold on its button ended that, its lamp did not blink, and an
// electrician was sent for a button that sticks.
#include <doctest/doctest.h>

#include <algorithm>

#include "model/diagnosis/diagnosis.h"
#include "tests/support/catalogue.h"
#include "tests/support/files.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;

const std::string left_from_before = R"(drybus-report: 1
title: Two took one address
family: wired-keypad
site:
  plates:
    P1: {label: Door plate, switches: {site: 21, zone: 3}}
  modules:
    M1: {label: Window, intended: 21/3/1}
    M2: {label: Table, intended: 21/3/2}
script:
  - hold: P1 set
    for: 2.7s
  - hold: M1 local
    for: 3.7s
  - press: P1 up
  - press: P1 accept
  - seen: {M2.lamp: dark}
  - hold: M2 local
    for: 3.7s
  - seen: {M2.lamp: blink}
  - press: P1 up
  - press: P1 accept
  - press: P1 two
)";

const std::string hold_that_ended_it = R"(drybus-report: 1
title: It will not blink
family: wired-keypad
site:
  plates:
    P1: {label: Door plate, switches: {site: 21, zone: 3}}
  modules:
    M1: {label: Window, intended: 21/3/1}
    M2: {label: Table, intended: 21/3/2}
script:
  - hold: P1 set
    for: 2.7s
  - seen: {M1.lamp: blink}
  - hold: M1 local
    for: 3.7s
  - seen: {M1.lamp: breathe}
  - press: P1 up
  - press: P1 accept
  - seen: {M1.lamp: breathe}
)";

/// Of all ways in which that went wrong at the device.
double chance_of(const Diagnosis& diagnosis, Mishap mishap, DeviceId device) {
  double chance = 0;
  for (const RankedExplanation& explanation : diagnosis.explanations) {
    for (const Account& way : explanation.ways) {
      if (std::any_of(way.causes.begin(), way.causes.end(), [&](const PlacedCause& placed) {
            return placed.cause == mishap && placed.device == device;
          }))
        chance += way.probability;
    }
  }
  return chance;
}

Report report_of(const tests::Folder& folder, const std::string& text) {
  return tools::load_report(folder.write("call.yaml", text)).call;
}

TEST_SUITE("regressions") {
  TEST_CASE("a module that was in setup already is likelier than a button that sticks") {
    const tests::Folder folder;
    const Report report = report_of(folder, hold_that_ended_it);
    const Diagnosis diagnosis = diagnose(report, tests::shipped_catalogue());
    const DeviceId m1 = report.believed.site.module_id(0);
    const double in_setup = chance_of(diagnosis, Mishap::was_in_setup, m1);
    CHECK(in_setup > 0.2);
    CHECK(in_setup > chance_of(diagnosis, Mishap::stuck_button, m1));
  }

  TEST_CASE("where all went as it should nobody was in setup already") {
    const tests::Folder folder;
    const Report report = report_of(folder, left_from_before);
    const Diagnosis diagnosis = diagnose(report, tests::shipped_catalogue());
    CHECK(chance_of(diagnosis, Mishap::was_in_setup, report.believed.site.module_id(1)) < 0.2);
  }
}

}  // namespace
