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

const Mutant& mutant_called(std::string_view what) {
  const auto all = mutants();
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Mutant& mutant) { return mutant.what == what; });
  REQUIRE(found != all.end());
  return *found;
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
      "what it finds passes with the reference model and fails with the mutant, for most mutants there are") {
    std::size_t found = 0;
    for (const Mutant& mutant : mutants()) {
      CAPTURE(mutant.what);
      const MutantHunt hunt = hunt_from_blind(mutant, quick());
      if (!hunt.killer) continue;
      ++found;
      CHECK(run(hunt.killer->scenario).passed());
      CHECK(kills(hunt.killer->scenario, mutant));
      CHECK(hunt.killer->difference.wanted != hunt.killer->difference.actual);
    }
    CHECK(found > mutants().size() / 2);
  }

  TEST_CASE("it finds a shortest way: a wrong channel takes both gestures, a step, and an assign") {
    const MutantHunt hunt = hunt_from_blind(mutant_called("module: it stores the next channel"));
    REQUIRE(hunt.killer);
    CHECK(hunt.killer->steps.size() == 4);
    CHECK(hunt.killer->difference.fact == Fact::address);
    CHECK(hunt.killer->difference.wanted == "23/4/1");
    CHECK(hunt.killer->difference.actual == "23/4/2");
  }

  TEST_CASE("the same hunt finds the same") {
    const Mutant& mutant = mutant_called("plate: previous wraps at channel 0");
    const MutantHunt one = hunt_from_blind(mutant, quick());
    const MutantHunt other = hunt_from_blind(mutant, quick());
    REQUIRE(one.killer);
    REQUIRE(other.killer);
    CHECK(run(one.killer->scenario).digest == run(other.killer->scenario).digest);
    CHECK(one.states == other.states);
  }

  TEST_CASE("a mutant of which nothing is wrong is told apart by nothing, and the bounds are kept") {
    const MutantHunt hunt = hunt_from_blind(Mutant{"nothing"}, quick());
    CHECK_FALSE(hunt.killer);
    CHECK_FALSE(hunt.exhausted);
    CHECK(hunt.starts == 3);
    CHECK(hunt.states <= 6'000 + 4'000 + 400);
    CHECK(hunt.states > 6'000);
  }

  TEST_CASE("without a plate and a module there is nothing to hunt with") {
    const Scenario none = small_scenario(0);
    const std::array<const Scenario*, 1> suite{&none};
    const MutantHunt hunt = hunt_killer(mutant_called("module: it stores the next channel"), suite);
    CHECK_FALSE(hunt.killer);
    CHECK(hunt.starts == 0);
    CHECK_FALSE(hunt.exhausted);
  }
}
