#include "model/hunt/hunt.h"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>
#include <utility>

#include "model/hunt/space.h"
#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

template <class Set>
sim::SearchResult explore(std::vector<HuntSpace>& spaces, const HuntOptions& options,
                          const sim::SearchControl& control) {
  return sim::Explorer<HuntSpace, Set>{std::span{spaces}, options.bounds, control}.run();
}

/// The scenario with the moves that were found, each as a step.
class Retelling {
 public:
  Retelling(const HuntPlan& plan, Scenario scenario) : told_(std::move(scenario)), space_(plan) {}

  Scenario tell(const std::vector<sim::Action>& actions, std::vector<Step>& steps) {
    HuntState state;
    space_.start(state);
    for (const sim::Action action : actions) {
      HuntSpace::Steps next = space_.steps_of(state, action);
      if (next.installer.kind == StepKind::see)
        next.installer.checks = {seen_now(state, next.installer.device)};
      if (next.mains) mains_.push_back(*next.mains);
      steps.push_back(next.installer);
      told_.people[0].script.push_back(next.installer);
      HuntState after;
      space_.repeat(state, std::span{&action, 1},
                    [&](sim::Action, const HuntState& there) { after = there; });
      state = std::move(after);
    }
    if (!mains_.empty()) told_.people.push_back({name_for_mains(), told_.people[0].place, mains_});
    return std::move(told_);
  }

 private:
  std::uint32_t seen_now(const HuntState& state, DeviceId device) {
    Check look;
    look.fact = Fact::indicator;
    look.device = device;
    look.seen = true;
    look.wanted = {fact_text(told_, state.world, device, Fact::indicator)};
    told_.checks.push_back(look);
    return static_cast<std::uint32_t>(told_.checks.size() - 1);
  }

  [[nodiscard]] std::string name_for_mains() const {
    std::string name = "mains";
    const auto taken = [&](const Person& person) { return person.name == name; };
    while (std::any_of(told_.people.begin(), told_.people.end(), taken)) name += "'";
    return name;
  }

  Scenario told_;
  HuntSpace space_;
  std::vector<Step> mains_;
};

/// What the last check of a run found.
std::string actual_at_the_end(const Scenario& scenario) {
  const RunResult result = run(scenario);
  const auto outcome = std::find_if(result.checks.begin(), result.checks.end(), [&](const CheckResult& each) {
    return each.check + 1 == scenario.checks.size();
  });
  return outcome == result.checks.end() ? "" : outcome->actual;
}

/// What is out of step in a run, but for what should not be.
std::vector<std::string> found_in(const Scenario& scenario, std::optional<FindingId> unwanted = std::nullopt) {
  std::vector<std::string> ids;
  const std::vector<Finding> findings = run(scenario).findings;
  for (const FindingId id : sim::all_of<FindingId>()) {
    const bool found =
        std::any_of(findings.begin(), findings.end(), [&](const Finding& each) { return each.id == id; });
    if (found && id != unwanted) ids.emplace_back(to_string(id));
  }
  return ids;
}

/// Ends the script with what should hold: it fails as long as the goal is broken that way, and passes when it no longer is.
/// That something is not so cannot be written; then what is so instead is. A finding that people bring about with devices as
/// their family has them is no mistake of the devices: it stands there as found, and a firmware is held against it.
void add_expectation(const Scenario& original, Scenario& scenario, const HuntGoal& goal) {
  Check check = goal.expectation;
  check.seen = false;
  if (goal.finding) {
    check.fact = Fact::findings;
    check.device = no_device;
  }
  const bool can_be_written = !goal.finding && !goal.negated;
  if (!can_be_written) check.wanted = {"?"};
  Step expect;
  expect.kind = StepKind::expect;
  expect.checks = {static_cast<std::uint32_t>(scenario.checks.size())};
  scenario.checks.push_back(check);
  scenario.people[0].script.push_back(expect);
  if (can_be_written) return;
  if (goal.finding) {
    const bool is_right = original.site.logic == nullptr;
    scenario.checks.back().wanted = is_right ? found_in(scenario) : found_in(original, goal.finding);
  } else {
    scenario.checks.back().wanted = {actual_at_the_end(scenario)};
  }
}

bool breaks_it_already(const Scenario& scenario, const HuntGoal& goal, const HuntState& start) {
  if (!goal.finding) return Judge{scenario, goal}.broken_at_end(start.world);
  const RunResult result = run(scenario);
  return std::any_of(result.findings.begin(), result.findings.end(),
                     [&](const Finding& finding) { return finding.id == *goal.finding; });
}

}  // namespace

HuntResult hunt(const Scenario& scenario, const HuntGoal& goal, const HuntOptions& options,
                const sim::SearchControl& control) {
  const HuntPlan plan = plan_for(scenario, goal, options.budget, options.symmetry);
  HuntResult result;
  result.alike = plan.alike;
  result.already = breaks_it_already(scenario, goal, plan.start);
  if (!result.already) {
    std::vector<HuntSpace> spaces;
    for (std::size_t i = 0; i < std::max<std::size_t>(1, options.jobs); ++i) spaces.emplace_back(plan);
    result.search = options.compact ? explore<sim::FingerprintSet>(spaces, options, control)
                                    : explore<sim::PartedKeySet>(spaces, options, control);
    for (const HuntSpace& space : spaces) result.noted |= space.noted();
    if (options.compact) result.omission = sim::omission_probability(result.search.progress.states);
    if (result.search.end != sim::SearchEnd::broken) return result;
  }
  result.found = Retelling{plan, scenario}.tell(result.search.actions, result.steps);
  add_expectation(scenario, result.found, goal);
  return result;
}

}  // namespace drybus::model
