#include "model/why/why.h"

#include <doctest/doctest.h>

#include <set>

#include "model/run/run.h"
#include "tests/support/program.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/options/question.h"

namespace {

using namespace drybus;
using tests::drybus_program;
using tests::Ran;

/// Every finding of the scenario's run and, on a small site, every module's address.
std::set<std::string> questions_about(const model::Scenario& scenario) {
  std::set<std::string> asked;
  for (const model::Finding& finding : model::run(scenario).findings)
    asked.insert(std::string{to_string(finding.id)});
  if (scenario.site.device_count() > 12) return asked;
  for (const model::ModuleSpec& module : scenario.site.modules) asked.insert(module.name + ".address");
  return asked;
}

TEST_CASE(
    "of every shipped scenario, every finding and address has causes, and without any one of them it is "
    "otherwise") {
  const std::vector<std::string> below{DRYBUS_SOURCE_DIR "/scenarios"};
  std::size_t causes = 0;
  for (const std::string& path : tools::scenario_files(below)) {
    const auto loaded = tools::load_scenario(path);
    const model::Counterfactual runs{loaded.scenario};
    for (const std::string& asked : questions_about(loaded.scenario)) {
      CAPTURE(path);
      CAPTURE(asked);
      const model::WhyQuestion question = tools::read_question(runs, asked, std::nullopt);
      const model::Explanation explanation = explain(runs, question);
      CHECK(!explanation.causes().empty());
      for (const model::Cause* cause : explanation.causes()) {
        CAPTURE(cause->text);
        CHECK(holds(runs, question, explanation, *cause));
        ++causes;
      }
    }
  }
  CHECK(causes > 150);
}

TEST_CASE("why tells the chain back to the line of the script, and proves it") {
  const Ran ran = drybus_program("why scenarios/training/setup-split.yaml M1.address --prove");
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("press P1 accept (scenarios/training/setup-split.yaml:41)") != std::string::npos);
  CHECK(ran.out.find("proved: had P1 accept not been pressed at 5:02.0, M1.address would be none") !=
        std::string::npos);
}

TEST_CASE("why names the hold that was too short") {
  const Ran ran = drybus_program("why scenarios/training/assign-unheard.yaml assign-unheard --prove");
  CHECK(ran.exit_code == 0);
  CHECK(ran.out.find("held for 2.5 s only, and setup takes 3.5 s") != std::string::npos);
}

TEST_CASE(
    "what why does not know is told with the nearest right word, and a time outside the run with its span") {
  const Ran fact = drybus_program("why scenarios/training/setup-split.yaml M1.adress");
  CHECK(fact.exit_code == 2);
  CHECK(fact.err.find("Did you mean 'address'?") != std::string::npos);
  CHECK(drybus_program("why scenarios/training/setup-split.yaml M11.address").exit_code == 2);
  const Ran time = drybus_program("why scenarios/training/setup-split.yaml M1.address --at 9h");
  CHECK(time.exit_code == 2);
  CHECK(time.err.find("5:03.0") != std::string::npos);
}

}  // namespace
