// One thing wrong in the rows of a machine, for any family.
#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "model/suite/mutants.h"
#include "tests/support/printing.h"
#include "tests/support/small_site.h"

using namespace drybus::model;
using namespace drybus::tests;

namespace {

bool same_rows(const Machine& one, const Machine& other) {
  return std::equal(one.rows.begin(), one.rows.end(), other.rows.begin(), other.rows.end(),
                    [](const MachineRow& a, const MachineRow& b) {
                      return a.in == b.in && a.on == b.on && a.when == b.when && a.does == b.does && a.to == b.to;
                    }) &&
         std::equal(one.states.begin(), one.states.end(), other.states.begin(), other.states.end(),
                    [](const MachineState& a, const MachineState& b) {
                      return a.mode == b.mode && a.shows == b.shows && a.entry == b.entry && a.exit == b.exit;
                    }) &&
         one.order == other.order;
}

const Mutant& mutant_with(const std::vector<Mutant>& all, std::string_view words) {
  const auto found = std::find_if(all.begin(), all.end(), [&](const Mutant& mutant) {
    return mutant.what.find(words) != std::string::npos;
  });
  REQUIRE_MESSAGE(found != all.end(), std::string{words});
  return *found;
}

Scenario addressed_module() {
  Scenario scenario = small_scenario(1);
  Script script{scenario};
  address(script, "P1", "M1", 1);
  script.wait(1s).look("M1", Fact::address, "23/4/1");
  return scenario;
}

}  // namespace

TEST_CASE("each mutant of the rows changes one machine of its family and has a name of its own") {
  const Family family = test_family();
  const std::vector<Mutant> all = mutants_of_rows(family);
  CHECK(all.size() > 150);
  std::set<std::string> names;
  for (const Mutant& mutant : all) {
    CAPTURE(mutant.what);
    CHECK(names.insert(mutant.what).second);
    Family changed = family;
    mutant.alter(changed);
    CHECK(mutant.family == family.name);
    const bool plate = !same_rows(changed.plate.machine, family.plate.machine);
    const bool module = !same_rows(changed.module.machine, family.module.machine);
    CHECK(plate != module);
    CHECK(*mutant.rows_of == (plate ? DeviceKind::plate : DeviceKind::module));
  }
}

TEST_CASE("rows that an install needs are missed by a scenario that looks") {
  const Scenario scenario = addressed_module();
  const std::vector<Mutant> all = mutants_of_rows(scenario.site.family);
  for (const char* words : {"'normal, gesture held' dropped", "'setup, assign heard, if offer whole, if other site' does not 'store address'",
                            "'setup, assign pressed' does not 'send assign'", "'setup, next pressed' does not 'step up'"}) {
    CAPTURE(words);
    CHECK(kills(scenario, mutant_with(all, words)));
  }
  CHECK_FALSE(kills(scenario, mutant_with(all, "'any, stop heard, if mine' dropped")));
}
