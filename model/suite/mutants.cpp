#include "model/suite/mutants.h"

#include <algorithm>
#include <iterator>
#include <utility>

#include "model/run/run.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

RunResult plain_run(const Scenario& scenario, bool stop_at_failure) {
  RunOptions options;
  options.stop_at_failure = stop_at_failure;
  options.plain = true;
  return run(scenario, options);
}

// --- the check that is missing ---

/// The scenario with every fact looked at before each step of the installer's. Steps stay where they are in
/// time.
class Probed {
 public:
  explicit Probed(const Scenario& original) : scenario(original) {
    scenario.checks.clear();
    for (Person& person : scenario.people) {
      for (Step& step : person.script) step.checks.clear();
    }
    std::vector<Step> script;
    for (const Step& step : original.people.front().script) {
      script.push_back(probe(step.at));
      script.push_back(step);
      script.back().checks.clear();
    }
    script.push_back(probe(std::nullopt));
    scenario.people.front().script = std::move(script);
  }

  /// The step that a check comes before.
  [[nodiscard]] StepRef before(std::uint32_t check) const {
    return {0, static_cast<std::uint32_t>(check / checks_each_)};
  }

  Scenario scenario;

 private:
  Step probe(std::optional<sim::Instant> at) {
    Step step;
    step.kind = StepKind::expect;
    step.at = at;
    const auto look = [&](DeviceId device, Fact fact) {
      step.checks.push_back(static_cast<std::uint32_t>(scenario.checks.size()));
      scenario.checks.push_back({fact, device, {std::string{}}, false, {}});
    };
    for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
      const auto device = static_cast<DeviceId>(i);
      for (const Fact fact : telling_facts(scenario.site, device)) look(device, fact);
    }
    look(no_device, Fact::findings);
    checks_each_ = step.checks.size();
    return step;
  }

  std::size_t checks_each_ = 1;
};

}  // namespace

std::vector<Mutant> mutants_of(const Family& family) {
  std::vector<Mutant> all = mutants_of_rows(family);
  std::vector<Mutant> numbers = mutants_of_numbers(family);
  std::move(numbers.begin(), numbers.end(), std::back_inserter(all));
  return all;
}

bool concerns(const Mutant& mutant, const Site& site) {
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    if (site.family_of(device).name == mutant.family) return true;
  }
  return false;
}

Scenario altered_by(const Mutant& mutant, Scenario scenario) {
  const auto alter = [&](Family& family) {
    if (family.name == mutant.family) mutant.alter(family);
  };
  alter(scenario.site.family);
  for (Family& other : scenario.site.other_families) alter(other);
  return scenario;
}

bool kills(const Scenario& scenario, const Mutant& mutant) {
  return concerns(mutant, scenario.site) && !plain_run(altered_by(mutant, scenario), true).passed();
}

std::optional<std::size_t> killer_of(const Mutant& mutant, std::span<const Scenario* const> scenarios) {
  const auto killer = std::find_if(scenarios.begin(), scenarios.end(),
                                   [&](const Scenario* scenario) { return kills(*scenario, mutant); });
  if (killer == scenarios.end()) return std::nullopt;
  return static_cast<std::size_t>(killer - scenarios.begin());
}

std::optional<MissingCheck> missing_check(const Mutant& mutant, std::span<const Scenario* const> scenarios) {
  for (std::size_t i = 0; i < scenarios.size(); ++i) {
    if (!concerns(mutant, scenarios[i]->site)) continue;
    const Probed probed{*scenarios[i]};
    const RunResult reference = plain_run(probed.scenario, false);
    const RunResult altered = plain_run(altered_by(mutant, probed.scenario), false);
    const std::size_t count = std::min(reference.checks.size(), altered.checks.size());
    for (std::size_t c = 0; c < count; ++c) {
      const CheckResult& wanted = reference.checks[c];
      if (wanted.actual == altered.checks[c].actual) continue;
      Check check = probed.scenario.checks[wanted.check];
      check.wanted = {wanted.actual};
      return MissingCheck{i, probed.before(wanted.check), wanted.at, std::move(check),
                          altered.checks[c].actual};
    }
  }
  return std::nullopt;
}

}  // namespace drybus::model
