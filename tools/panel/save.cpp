#include "tools/panel/save.h"

#include <algorithm>
#include <set>
#include <stdexcept>

#include "model/record/trace.h"
#include "tools/script/writer.h"

namespace drybus::tools {

namespace {

/// Checks are numbered as they stand in the text, so that the run of the text records the same numbers.
void number_checks_as_read(model::Scenario& scenario) {
  std::vector<model::Check> in_order;
  for (model::Person& person : scenario.people) {
    for (model::Step& step : person.script) {
      for (std::uint32_t& check : step.checks) {
        in_order.push_back(scenario.checks[check]);
        check = static_cast<std::uint32_t>(in_order.size() - 1);
      }
    }
  }
  scenario.checks = std::move(in_order);
}

bool is_idle_at(const model::Scenario& scenario, sim::Instant at) {
  Branch run{scenario};
  return run.run_until(at, Branch::most_entries) && run.installer_idle();
}

/// What is found when the installer has done everything.
std::vector<std::string> findings_at_the_end(const model::Scenario& scenario) {
  Branch run{scenario};
  while (!run.installer_idle() && run.next_at() != sim::never && !run.full()) run.step();
  std::set<std::string> ids;
  for (const model::Observation& observation : run.observations()) ids.emplace(to_string(observation.id));
  return {ids.begin(), ids.end()};
}

void expect_findings(model::Scenario& scenario) {
  model::Check check;
  check.fact = model::Fact::findings;
  check.wanted = findings_at_the_end(scenario);
  scenario.checks.push_back(std::move(check));
  model::Step step;
  step.kind = model::StepKind::expect;
  step.checks = {static_cast<std::uint32_t>(scenario.checks.size() - 1)};
  scenario.people[0].script.push_back(std::move(step));
}

/// Alike but for the numbers of checks, which follow the order of the text.
bool same_entry(const sim::Entry& a, const sim::Entry& b) {
  if (model::what(a) != model::What::checked) return a == b;
  sim::Entry numbered = a;
  numbered.a = b.a;
  return numbered == b;
}

bool begins_with(const sim::Record& record, const sim::Record& history) {
  const auto all = record.entries();
  const auto first = history.entries();
  return all.size() >= first.size() && std::equal(first.begin(), first.end(), all.begin(), same_entry);
}

}  // namespace

SavedScenario save_scenario(const LoadedScenario& loaded, model::Scenario done, sim::Instant until,
                            const sim::Record* history, const std::string& name) {
  LoadedScenario saved = loaded;
  saved.scenario = std::move(done);
  model::Step note;
  note.kind = model::StepKind::note;
  note.text = "So far at the panel.";
  // An hour that has gone by would be an error: whoever is still busy then comes to the note as soon as may
  // be.
  if (is_idle_at(saved.scenario, until)) note.at = until + sim::Duration{1};
  saved.scenario.people[0].script.push_back(std::move(note));
  expect_findings(saved.scenario);
  number_checks_as_read(saved.scenario);
  const model::RunResult result = model::run(saved.scenario);
  if (history != nullptr && !begins_with(result.record, *history)) {
    throw std::logic_error{"what was done at the panel does not replay as it was shown"};
  }
  return {name, write_scenario(saved), result.digest.hex(), result.world.now};
}

}  // namespace drybus::tools
