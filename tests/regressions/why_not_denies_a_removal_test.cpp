// `drybus why F M1.address --not none` said that no single change does it, although leaving out the hold at M1 did: a way
// that puts something else out of step was taken for none. Held here against brute force over all single removals.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "model/run/run.h"
#include "model/why/nearest_way.h"
#include "model/world/facts.h"
#include "sim/random.h"
#include "tests/support/files.h"
#include "tests/support/program.h"
#include "tests/support/seeds.h"
#include "tests/swarm/swarm.h"
#include "tools/load/load.h"
#include "tools/script/fact_value.h"

namespace {

using namespace drybus;
using tests::drybus_program;
using tests::Folder;

const std::string shed = R"(drybus: 1
title: Two in a shed
family: wired-keypad
seed: 5
site:
  plates:
    P1: {switches: {site: 23, zone: 4}}
  modules:
    M1: {intended: 23/4/1}
    M2: {intended: 23/4/2}
script:
  - {hold: P1 set, for: 3s}
  - {hold: M1 local, for: 4s}
  - press: P1 up
  - press: P1 accept
  - {hold: M2 local, for: 4s}
  - press: P1 up
  - press: P1 accept
  - press: P1 two
)";

bool mentions(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

TEST_CASE("a removal that puts something else out of step is told, with what that is") {
  const Folder folder;
  const std::string file = folder.write("shed.yaml", shed);
  const tests::Ran none = drybus_program("why " + file + " M1.address --not none --format json");
  CAPTURE(none.out);
  CHECK(none.exit_code == 0);
  CHECK(mentions(none.out, "\"unaddressed\""));
  const tests::Ran other = drybus_program("why " + file + " M1.address --not 23/4/2");
  CAPTURE(other.out);
  CHECK(other.exit_code == 0);
  std::string in_one_line = other.out;
  std::replace(in_one_line.begin(), in_one_line.end(), '\n', ' ');
  CHECK(mentions(in_one_line, "wrong-address (M1)"));
}

/// The fact's value in each run without one step, where it is another than `actual`.
std::vector<std::string> values_without_a_step(const model::Scenario& scenario,
                                               const model::WhyQuestion& question,
                                               const std::string& actual) {
  std::vector<std::string> values;
  for (std::size_t i = 0; i < scenario.people[0].script.size(); ++i) {
    model::Scenario changed = scenario;
    auto& script = changed.people[0].script;
    script.erase(script.begin() + static_cast<std::ptrdiff_t>(i));
    model::RunOptions options;
    options.plain = true;
    const model::RunResult result = run(changed, options);
    if (result.unfinished) continue;
    const std::string value = fact_text(changed, result.world, question.device, question.fact);
    if (value != actual && std::find(values.begin(), values.end(), value) == values.end())
      values.push_back(value);
  }
  return values;
}

void hold_against_brute_force(const model::Scenario& scenario, std::uint64_t seed, std::size_t questions) {
  model::RunOptions options;
  options.plain = true;
  const model::RunResult actual = run(scenario, options);
  if (actual.unfinished) return;
  sim::Stream draws{seed, sim::Purpose::generator, 4};
  for (std::size_t i = 0; i < questions; ++i) {
    model::WhyQuestion question;
    question.device = static_cast<model::DeviceId>(draws.below(scenario.site.device_count()));
    const auto facts = tools::facts_of(scenario.site.is_plate(question.device));
    question.fact = facts[draws.below(facts.size())];
    const std::string now = fact_text(scenario, actual.world, question.device, question.fact);
    const auto values = values_without_a_step(scenario, question, now);
    if (values.empty()) continue;
    const std::string& value = values[draws.below(values.size())];
    INFO(scenario.site.name(question.device), ".", to_string(question.fact), " --not ", value, "; ",
         drybus::test::replay(seed, "no single change is denied*"));
    const auto way = nearest_way(scenario, question, value);
    REQUIRE(way);
    const model::RunResult changed = run(way->scenario, options);
    CHECK(fact_text(way->scenario, changed.world, question.device, question.fact) == value);
  }
}

TEST_CASE("no single change is denied that the removal of a step is: shipped scenarios") {
  for (const std::uint64_t seed : drybus::test::seeds(2)) {
    for (const std::string name :
         {"setup-split", "press-misread", "zone-zero", "unaddressed", "shared-address"}) {
      CAPTURE(name);
      hold_against_brute_force(
          tools::load_scenario(DRYBUS_SOURCE_DIR "/scenarios/training/" + name + ".yaml").scenario, seed, 6);
    }
  }
}

TEST_CASE("no single change is denied that the removal of a step is: random sites") {
  const std::vector<model::Family> families = {
      tools::load_family(DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml").family,
      tools::load_family(DRYBUS_SOURCE_DIR "/scenarios/families/radio-keypad.yaml").family};
  for (const std::uint64_t seed : drybus::test::seeds(20))
    hold_against_brute_force(tests::swarm_scenario(families, seed), seed, 3);
}

}  // namespace
