// What a first cure leaves for later.
#include "model/call/first_stage.h"

#include <doctest/doctest.h>

#include <span>
#include <string>

#include "model/recovery/aim.h"
#include "model/recovery/report.h"
#include "tests/support/catalogue.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;
using namespace drybus::tests;

TEST_CASE("nobody is sent for to mend something that is more likely sound") {
  for (const std::string& load : {std::string{"dark"}, std::string{"lit"}}) {
    CAPTURE(load);
    Report report;
    report.believed = small_scenario(3);
    Script script{report.believed};
    for (int i = 1; i <= 3; ++i) address(script, "P1", "M" + std::to_string(i), i);
    script.press("P1", down).wait(2s).press("P1", up).wait(2s);
    const auto off = static_cast<std::uint32_t>(report.believed.people.front().script.size() - 3);
    report.seen = {{*report.believed.site.find_device("M2"), Fact::load, load, off, false, {}, true},
                   {*report.believed.site.find_device("M2"), Fact::load, load, std::nullopt, false, {}, true},
                   {*report.believed.site.find_device("M1"), Fact::load, "lit", std::nullopt, false, {}}};
    const Diagnosis diagnosis = diagnose(report, shipped_catalogue());
    double broken = 0;
    double all = 0;
    for (const RankedExplanation& each : diagnosis.explanations) {
      for (const Account& account : each.ways) {
        const Scenario scenario = scenario_of(report, account);
        const Possibility possible{&scenario, *account.world, 1};
        all += account.probability;
        if (!repairs(report.believed, std::span{&possible, 1}).empty()) broken += account.probability;
      }
    }
    CHECK(broken > 0.02 * all);  // it is thought of
    const ReportCure cure = recover(report, first_stage(report, diagnosis));
    REQUIRE(cure.cure.end == Cure::End::found);
    CHECK((cure.cure.repairs > 0) == (broken >= 0.5 * all));
  }
}

}  // namespace
