// The judge of a hunt looks at as little as it can; FindingWatch looks at whole runs. They must not disagree.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/hunt_walk.h"
#include "tests/support/printing.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"

using namespace drybus;
using namespace drybus::model;
using namespace drybus::tests;

namespace {

Scenario two_plates() {
  Scenario scenario = small_scenario(2, 2);
  scenario.site.modules[0].memory.power_up = PowerUp::full;
  return scenario;
}

}  // namespace

TEST_SUITE("hunt judge") {
  TEST_CASE("what the judge finds in a walk is what a run of the same steps finds") {
    std::size_t found = 0;
    for (std::size_t id = 0; id < finding_count; ++id) {
      const auto finding = static_cast<FindingId>(id);
      for (const std::uint64_t seed : drybus::test::seeds(30)) {
        INFO(drybus::test::replay(seed,
                                  "what the judge finds in a walk is what a run of the same steps finds"));
        CAPTURE(finding);
        sim::Stream stream{seed};
        Walk walk{two_plates(), finding};
        for (std::uint64_t moves = 3 + stream.below(10); moves > 0 && !walk.has_cut; --moves)
          walk.go_on(stream);
        if (walk.has_cut) continue;
        const bool by_end = finding == FindingId::unaddressed;
        const bool judged = by_end ? walk.broken_now : walk.broken;
        const bool ran = has(run(walk.walked), finding);
        CHECK(judged == ran);
        found += ran ? 1 : 0;
      }
    }
    CHECK(found > 30);
  }

  TEST_CASE("judge and run agree about who belongs to whom, with and without intended addresses") {
    std::size_t found = 0;
    for (const FindingId finding : {FindingId::setup_split, FindingId::press_misread}) {
      for (const std::uint64_t seed : drybus::test::seeds(60)) {
        INFO(drybus::test::replay(seed, "judge and run agree about who belongs to whom*"));
        CAPTURE(finding);
        sim::Stream stream{seed};
        Scenario scenario = two_plates();
        if (stream.below(2) == 0) scenario.site.plates[1].zone = scenario.site.plates[0].zone;
        for (ModuleSpec& module : scenario.site.modules) {
          if (stream.below(3) == 0) module.intended.reset();
          if (module.intended && stream.below(3) == 0) module.intended->zone = 5;
        }
        Walk walk{scenario, finding};
        for (std::uint64_t moves = 6 + stream.below(12); moves > 0 && !walk.has_cut; --moves)
          walk.go_on(stream);
        if (walk.has_cut) continue;
        const bool ran = has(run(walk.walked), finding);
        CHECK(walk.broken == ran);
        found += ran ? 1 : 0;
      }
    }
    CHECK(found > 10);
  }
}
