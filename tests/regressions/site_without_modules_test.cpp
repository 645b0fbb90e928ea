// On a site without modules an offer that nobody takes was told of with the words of a module that is not there, which ended
// the program.
#include <doctest/doctest.h>

#include "tests/support/small_site.h"

using namespace drybus;
using namespace drybus::tests;

TEST_CASE("an offer on a site without modules is told of, and says how a module would be put in setup") {
  model::Scenario scenario = small_scenario(0);
  Script{scenario}.hold("P1", set, 5500ms).press("P1", up).press("P1", accept).wait(2s);
  const model::RunResult result = model::run(scenario);
  REQUIRE(result.findings.size() == 1);
  CHECK(result.findings[0].remedy.starts_with("Put the module in setup first: hold its "));
}
