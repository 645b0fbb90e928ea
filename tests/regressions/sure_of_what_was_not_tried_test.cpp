// A button stuck while nobody did anything. That was not among what was tried, and yet "over 99.9 % of what can go wrong" had
// been gone through; an explanation's likeliest way was told as a fact, though its ways ended differently; two put in setup
// at once were thought of only with the second put there once more.
#include <doctest/doctest.h>

#include <algorithm>

#include "model/diagnosis/diagnosis.h"
#include "tests/support/catalogue.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tools/load/load.h"

namespace {

using namespace drybus;
using namespace drybus::model;

const std::string on_by_themselves = R"(drybus-report: 1
title: The lights came on by themselves
family: wired-keypad
site:
  plates:
    P1: {label: Studio plate, switches: 23/3}
  modules:
    M1: {label: Wash, intended: 23/3/1, stored: 23/3/1}
    M2: {label: Key, intended: 23/3/2, stored: 23/3/2}
script:
  - press: P1 up
  - wait: 2s
  - press: P1 off
  - wait: 2s
  - seen: {Wash: 'off', Key: 'off'}
  - wait: about 1 min
complaint: {Wash: 'on', Key: 'on'}
)";

const std::string both_at_once = R"(drybus-report: 1
title: Two are called together
family: wired-keypad
site:
  plates:
    P1: {label: Bar plate, switches: 23/3}
  modules:
    M1: {label: Counter, intended: 23/3/1}
    M2: {label: Shelf, intended: 23/3/2}
    M3: {label: Fridge, intended: 23/3/3}
    M4: {label: Window, intended: 23/3/4}
script:
  - addressed:
      with: P1
      modules: [M1, M2, M3, M4]
  - wait: about 1 min
  - hold: P1 set
    for: 2.7s
  - press: P1 up
  - wait: 5s
  - press: P1 up
  - seen: {M2.lamp: steady, M3.lamp: steady}
  - wait: 5s
  - press: P1 up
  - seen: {M2.lamp: breathe, M3.lamp: breathe}
  - press: P1 two
)";

const std::string lit_after_the_cut = R"(drybus-report: 1
title: One comes up lit
family: wired-keypad
site:
  plates:
    P1: {label: Landing plate, switches: 23/3}
  modules:
    M1: {label: Stairs, intended: 23/3/1, stored: 23/3/1, power_up: off}
    M2: {label: Shelves, intended: 23/3/2, stored: 23/3/2, power_up: off}
script:
  - press: P1 up
  - wait: 2s
  - press: P1 off
  - wait: 2s
  - seen: {Stairs: 'off', Shelves: 'off'}
  - power: off
  - wait: 5s
  - power: on
  - wait: 2s
seen: {Stairs: 'off'}
complaint: {Shelves: 'on'}
)";

const std::string nothing_odd = R"(drybus-report: 1
title: Both did as they should
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

template <class Is>
double chance_of_ways(const Diagnosis& diagnosis, Is is) {
  double chance = 0;
  for (const RankedExplanation& explanation : diagnosis.explanations) {
    for (const Account& way : explanation.ways) chance += is(way) ? way.probability : 0;
  }
  return chance;
}

Report report_of(const std::string& text) {
  const tests::Folder folder;
  return tools::load_report(folder.write("call.yaml", text)).call;
}

TEST_SUITE("regressions") {
  TEST_CASE("a button that sticks in a pause is tried, and nobody says that everything was") {
    const Diagnosis diagnosis = diagnose(report_of(on_by_themselves), tests::shipped_catalogue());
    // Somebody else may have pressed it as well; nothing else that is known is likelier, but it may be something unknown.
    const double stuck = chance_of_ways(diagnosis, [](const Account& way) {
      return way.causes.size() == 1 && way.causes.front().cause == Mishap::stuck_button;
    });
    const double pressed = chance_of_ways(diagnosis, [](const Account& way) {
      return way.causes.size() == 1 && way.causes.front().cause == Mishap::other_hands;
    });
    CHECK(stuck > 0.02);
    CHECK(stuck + pressed > 0.9 * (1 - diagnosis.unexplained));
    CHECK(diagnosis.explored < 0.99);
  }

  TEST_CASE("who puts two in setup at once does not do it again at the second one's turn") {
    const Diagnosis diagnosis = diagnose(report_of(both_at_once), tests::shipped_catalogue());
    REQUIRE_FALSE(diagnosis.explanations.empty());
    // M2 and M3 hold one address, and nothing else is wrong.
    const Address shared{23, 3, 2};
    const double at_once = chance_of_ways(diagnosis, [&](const Account& way) {
      const auto& modules = way.world->modules;
      return modules[1].memory.address == shared && modules[2].memory.address == shared &&
             modules[3].memory.address == Address{23, 3, 4};
    });
    CHECK(at_once > 0.25);
  }

  TEST_CASE("a module that comes up lit has another power-up mode than was believed") {
    const Report report = report_of(lit_after_the_cut);
    const Diagnosis diagnosis = diagnose(report, tests::shipped_catalogue());
    const double power_up = chance_of_ways(diagnosis, [&](const Account& way) {
      return way.causes.size() == 1 && way.causes.front().cause == Mishap::other_power_up &&
             way.causes.front().device == report.believed.site.module_id(1);
    });
    CHECK(power_up > 0.5);
  }

  TEST_CASE("ways that end otherwise are not said to end alike") {
    const tests::Folder folder;
    const tests::Ran told = tests::drybus_program("diagnose " + folder.write("call.yaml", nothing_odd));
    const bool several = told.out.find("or (") != std::string::npos;
    REQUIRE(several);
    CHECK(told.out.find("These ways do not all end alike") != std::string::npos);
    CHECK(told.out.find("then, most likely,") != std::string::npos);
  }
}

}  // namespace
