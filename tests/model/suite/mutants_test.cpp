#include "model/suite/mutants.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <set>
#include <string>

#include "model/run/run.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;

namespace {

const std::vector<Mutant>& mutants() {
  static const std::vector<Mutant> all = mutants_of(test_family());
  return all;
}

/// The first whose name has these words.
const Mutant& mutant_with(std::string_view words) {
  for (const Mutant& mutant : mutants()) {
    if (mutant.what.find(words) != std::string::npos) return mutant;
  }
  FAIL("no mutant is called " << std::string{words});
  return mutants().front();
}

constexpr std::string_view stores_nothing =
    "'setup, assign heard, if offer whole, if other site' does not 'store address'";

Scenario addressed_module() {
  Scenario scenario = small_scenario(1);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.wait(1s).look("M1", Fact::address, "23/4/1");
  return scenario;
}

}  // namespace

TEST_SUITE("mutants") {
  TEST_CASE("each has a name of its own and alters its family, and no other") {
    CHECK(mutants().size() >= 290);
    std::set<std::string_view> names;
    for (const Mutant& mutant : mutants()) {
      CAPTURE(mutant.what);
      CHECK(names.insert(mutant.what).second);
      CHECK(mutant.family == test_family().name);
    }
    Scenario other = addressed_module();
    other.site.family.name = "another";
    CHECK_FALSE(concerns(mutants().front(), other.site));
    CHECK_FALSE(kills(other, mutant_with(stores_nothing)));
    CHECK(kills(addressed_module(), mutant_with(stores_nothing)));
  }

  TEST_CASE("every time is off four ways, unless it is too short for a tick") {
    for (const char* time : {"plate: the time-out", "plate: the hold for setup", "module: a fade", "indicator: a blip"}) {
      for (const char* by : {"10 % longer", "10 % shorter", "a tick longer", "a tick shorter"}) {
        mutant_with(std::string{time} + " is " + by);
      }
    }
    // The tests' family writes within less than a tick.
    REQUIRE(test_family().module.store < 100ms);
    mutant_with("module: a write to memory is a tick longer");
    CHECK(std::none_of(mutants().begin(), mutants().end(), [](const Mutant& mutant) {
      return mutant.what.find("a write to memory is a tick shorter") != std::string::npos;
    }));
  }

  TEST_CASE("what a power cut leaves of memory is noticed by whoever cuts the power and looks") {
    Scenario scenario = addressed_module();
    Script{scenario}.power("M1", false).wait(1s).power("M1", true).wait(1s).look("M1", Fact::address, "23/4/1");
    CHECK(run(scenario).passed());
    CHECK(kills(scenario, mutant_with("module: a power cut loses the address")));
    CHECK_FALSE(kills(scenario, mutant_with("module: a power cut loses the scenes")));
  }

  TEST_CASE("an address that is not stored is noticed by whoever looks at it, and by nobody else") {
    const Mutant& mutant = mutant_with(stores_nothing);
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
    CHECK(killer_of(mutant_with(stores_nothing), suite) == 1);
    CHECK_FALSE(killer_of(mutant_with("'any, recall heard, if mine, if scene stored' dropped"), suite));
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
