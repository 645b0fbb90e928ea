#include "model/suite/mutants.h"

#include <doctest/doctest.h>

#include <set>
#include <string>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;

namespace {

const Mutant& mutant_called(std::string_view what) {
  for (const Mutant& mutant : mutants()) {
    if (mutant.what == what) return mutant;
  }
  FAIL("no mutant is called " << std::string{what});
  return mutants().front();
}

Scenario addressed_module() {
  Scenario scenario = small_scenario(1);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.wait(1s).look("M1", Fact::address, "23/4/1");
  return scenario;
}

}  // namespace

TEST_SUITE("mutants") {
  TEST_CASE("there are more than sixty, each with a name of its own and something wrong with it") {
    CHECK(mutants().size() >= 60);
    std::set<std::string_view> names;
    for (const Mutant& mutant : mutants()) {
      CHECK(names.insert(mutant.what).second);
      CHECK((mutant.family != nullptr || mutant.plate != nullptr || mutant.module != nullptr ||
             mutant.module_lost_power != nullptr));
    }
  }

  TEST_CASE("nothing wrong kills nothing") {
    CHECK_FALSE(kills(addressed_module(), Mutant{"nothing"}));
  }

  TEST_CASE("a wrong channel is noticed by whoever looks at the address, and by nobody else") {
    const Mutant& mutant = mutant_called("module: it stores the next channel");
    CHECK(kills(addressed_module(), mutant));
    Scenario blind = addressed_module();
    blind.people[0].script.pop_back();
    CHECK_FALSE(kills(blind, mutant));
  }

  TEST_CASE("the first scenario that notices is named") {
    Scenario blind = addressed_module();
    blind.people[0].script.pop_back();
    const Scenario sharp = addressed_module();
    const std::array<const Scenario*, 3> suite{&blind, &sharp, &sharp};
    CHECK(killer_of(mutant_called("module: it takes no assign"), suite) == 1);
    CHECK_FALSE(killer_of(mutant_called("module: it recalls the next scene"), suite));
  }

  TEST_CASE("the check that was missing kills the mutant once it is put in") {
    Scenario blind = addressed_module();
    blind.people[0].script.pop_back();
    const std::array<const Scenario*, 1> suite{&blind};
    std::size_t found = 0;
    for (const Mutant& mutant : mutants()) {
      if (killer_of(mutant, suite)) continue;
      const auto missing = missing_check(mutant, suite);
      if (!missing) continue;
      CAPTURE(mutant.what);
      ++found;
      Scenario sharp = blind;
      sharp.checks = {missing->check};
      Step look;
      look.kind = StepKind::expect;
      look.checks = {0};
      auto& script = sharp.people[0].script;
      script.insert(script.begin() + missing->before.step, look);
      CHECK(run(sharp).passed());
      CHECK(kills(sharp, mutant));
    }
    CHECK(found > 10);
  }

  TEST_CASE("the reference model's run is the same whether or not it goes by way of a logic") {
    DeviceLogic* const none = nullptr;
    class Reference final : public DeviceLogic {
    } reference;
    RunOptions options;
    options.logic = none;
    const auto digest = run(addressed_module(), options).digest;
    options.logic = &reference;
    CHECK(run(addressed_module(), options).digest == digest);
  }
}
