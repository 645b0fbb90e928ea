// What holds for every family that ships, whoever speaks first in it and whatever has to be confirmed.
#include <doctest/doctest.h>

#include <string>

#include "tests/support/hunt_walk.h"
#include "tests/support/printing.h"
#include "tests/support/seeds.h"
#include "tests/support/small_site.h"
#include "tools/load/load.h"

using namespace drybus;
using namespace drybus::model;
using namespace drybus::tests;

namespace {

constexpr const char* shipped[] = {"wired-keypad",   "radio-keypad",       "supply-counter",
                                   "asking-modules", "confirming-modules", "master-keypad"};

/// Two plates and two modules of one family.
Scenario small_site_of(const std::string& name) {
  Scenario scenario = small_scenario(2, 2, tools::load_family(name).family);
  scenario.site.modules[0].memory.power_up = PowerUp::full;
  return scenario;
}

}  // namespace

TEST_SUITE("generations") {
  TEST_CASE(
      "what the judge finds in a walk is what a run of the same steps finds, in every family that ships") {
    std::size_t found = 0;
    for (const char* name : shipped) {
      const Scenario start = small_site_of(name);
      for (std::size_t id = 0; id < finding_count; ++id) {
        const auto finding = static_cast<FindingId>(id);
        for (const std::uint64_t seed : drybus::test::seeds(12)) {
          INFO(drybus::test::replay(
              seed, "what the judge finds in a walk is what a run of the same steps finds, in every*"));
          CAPTURE(name);
          CAPTURE(finding);
          sim::Stream stream{seed};
          Walk walk{start, finding};
          for (std::uint64_t moves = 3 + stream.below(12); moves > 0 && !walk.has_cut; --moves)
            walk.go_on(stream);
          if (walk.has_cut) continue;
          const bool judged = finding == FindingId::unaddressed ? walk.broken_now : walk.broken;
          const bool ran = has(run(walk.walked), finding);
          CHECK(judged == ran);
          found += ran ? 1 : 0;
        }
      }
    }
    CHECK(found > 60);
  }
}
