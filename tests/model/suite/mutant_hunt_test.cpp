#include "model/suite/mutant_hunt.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
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
  const auto found = std::find_if(mutants().begin(), mutants().end(),
                                  [&](const Mutant& mutant) { return mutant.what.find(words) != std::string::npos; });
  REQUIRE(found != mutants().end());
  return *found;
}

/// What the module hears, it does not store.
const Mutant& deaf_to_addresses() {
  return mutant_with("'setup, assign heard, if offer whole, if other site' does not 'store address'");
}

Mutant nothing() {
  return {"nothing", test_family().name, [](Family&) {}};
}

/// A suite that looks at nothing: every mutant survives it.
const Scenario& blind() {
  static const Scenario scenario = small_scenario(1);
  return scenario;
}

MutantHunt hunt_from_blind(const Mutant& mutant, const MutantHuntOptions& options = {}) {
  const std::array<const Scenario*, 1> suite{&blind()};
  return hunt_killer(mutant, suite, options);
}

MutantHuntOptions quick() {
  return hunt_options_for(6'000);
}

}  // namespace

TEST_SUITE("mutant hunt") {
  TEST_CASE(
      "what it finds passes with the family and fails with the mutant, for most mutants there are") {
    std::size_t found = 0;
    std::size_t tried = 0;
    for (std::size_t i = 0; i < mutants().size(); i += 5) {  // a sample: each that survives takes all the states it may
      const Mutant& mutant = mutants()[i];
      ++tried;
      CAPTURE(mutant.what);
      const MutantHunt hunt = hunt_from_blind(mutant, quick());
      if (!hunt.killer) continue;
      ++found;
      CHECK(run(hunt.killer->scenario).passed());
      CHECK(kills(hunt.killer->scenario, mutant));
      CHECK(hunt.killer->difference.wanted != hunt.killer->difference.actual);
    }
    CHECK(found > tried / 2);
  }

  TEST_CASE("it finds a shortest way: an address that is not stored takes both gestures, a step, and an assign") {
    const MutantHunt hunt = hunt_from_blind(deaf_to_addresses());
    REQUIRE(hunt.killer);
    CHECK(hunt.killer->steps.size() == 4);
    CHECK(hunt.killer->difference.fact == Fact::address);
    CHECK(hunt.killer->difference.wanted == "23/4/1");
    CHECK(hunt.killer->difference.actual == "none");
  }

  TEST_CASE("the same hunt finds the same") {
    const Mutant& mutant = mutant_with("'setup, previous pressed, if at channel 0' dropped");
    const MutantHunt one = hunt_from_blind(mutant, quick());
    const MutantHunt other = hunt_from_blind(mutant, quick());
    REQUIRE(one.killer);
    REQUIRE(other.killer);
    CHECK(run(one.killer->scenario).digest == run(other.killer->scenario).digest);
    CHECK(one.states == other.states);
  }

  TEST_CASE("a mutant of which nothing is wrong is told apart by nothing, and the bounds are kept") {
    const MutantHunt hunt = hunt_from_blind(nothing(), quick());
    CHECK_FALSE(hunt.killer);
    CHECK_FALSE(hunt.exhausted);
    CHECK(hunt.starts == 3);
    CHECK(hunt.states <= 6'000 + 4'000 + 400);
    CHECK(hunt.states > 6'000);
  }

  TEST_CASE("without a plate and a module there is nothing to hunt with") {
    const Scenario none = small_scenario(0);
    const std::array<const Scenario*, 1> suite{&none};
    const MutantHunt hunt = hunt_killer(deaf_to_addresses(), suite);
    CHECK_FALSE(hunt.killer);
    CHECK(hunt.starts == 0);
    CHECK_FALSE(hunt.exhausted);
  }
}
