#include "model/planning/route_risk.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "model/run/run.h"

namespace drybus::model {

namespace {

HumanFactors scaled(const HumanFactors& factors, double scale) {
  HumanFactors raised = factors;
  for (std::uint32_t* chance :
       {&raised.omit_ppb, &raised.wrong_ppb, &raised.repeat_ppb, &raised.let_go_early_ppb}) {
    *chance = static_cast<std::uint32_t>(std::min(5e8, std::round(*chance * scale)));
  }
  return raised;
}

/// That a step is slipped at in one way or another; none but presses and holds are.
double slip_chance(const Step& step, const HumanFactors& factors) {
  if (step.kind != StepKind::press && step.kind != StepKind::hold) return 0;
  const auto own = step.kind == StepKind::press ? factors.repeat_ppb : factors.let_go_early_ppb;
  return (factors.omit_ppb + static_cast<double>(factors.wrong_ppb) + own) / 1e9;
}

/// How much harm a slip does, from few cases: with one more of each kind, so that three of three is no
/// certainty.
double harm(const StepRisk& step) {
  return (static_cast<double>(step.bad) + 1) / (static_cast<double>(step.slipped) + 2);
}

bool left_out_of_step(const Scenario& scenario, const RunResult& result) {
  const auto failed = [&scenario](const CheckResult& outcome) {
    return scenario.checks[outcome.check].fact == Fact::address && !outcome.passed;
  };
  const auto open = [](const Finding& finding) { return !finding.until; };
  return result.unfinished || std::any_of(result.checks.begin(), result.checks.end(), failed) ||
         std::any_of(result.findings.begin(), result.findings.end(), open);
}

}  // namespace

void RiskPart::add(const RiskPart& other) {
  runs += other.runs;
  slips += other.slips;
  without_slip += other.without_slip;
  bad_without_slip += other.bad_without_slip;
  with_one_slip += other.with_one_slip;
  slipped.resize(std::max(slipped.size(), other.slipped.size()));
  bad.resize(slipped.size());
  for (std::size_t i = 0; i < other.slipped.size(); ++i) {
    slipped[i] += other.slipped[i];
    bad[i] += other.bad[i];
  }
}

double slip_scale(const Scenario& scenario, const HumanFactors& factors) {
  double expected = 0;
  for (const Step& step : scenario.people[0].script) expected += slip_chance(step, factors);
  return expected > 0 ? 1 / expected : 1;
}

RiskPart risk_runs(const Scenario& scenario, const HumanFactors& factors, std::uint64_t seed,
                   std::uint64_t first, std::uint64_t count) {
  const HumanFactors raised = scaled(factors, slip_scale(scenario, factors));
  RiskPart part;
  part.slipped.resize(scenario.people[0].script.size());
  part.bad.resize(part.slipped.size());
  Scenario done = scenario;
  std::vector<Slip> slips;
  RunOptions options;
  options.plain = true;
  for (std::uint64_t i = first; i < first + count; ++i) {
    vary(scenario, raised, seed, i, done, slips);
    ++part.runs;
    part.slips += slips.size();
    if (slips.size() > 1) continue;
    options.seed = seed + i;
    const bool bad = left_out_of_step(done, run(done, options));
    if (slips.empty()) {
      ++part.without_slip;
      part.bad_without_slip += bad ? 1 : 0;
    } else {
      ++part.with_one_slip;
      ++part.slipped[slips[0].step];
      part.bad[slips[0].step] += bad ? 1 : 0;
    }
  }
  return part;
}

RouteRisk risk_of(const Scenario& scenario, const HumanFactors& factors, const RiskPart& part) {
  RouteRisk risk;
  risk.runs = part.runs;
  if (part.runs == 0) return risk;
  risk.slips_expected =
      static_cast<double>(part.slips) / static_cast<double>(part.runs) / slip_scale(scenario, factors);
  risk.without_slip = sim::wilson(part.bad_without_slip, part.without_slip);
  risk.bad_without_slip = part.bad_without_slip;
  for (std::uint32_t i = 0; i < part.bad.size(); ++i) {
    if (part.bad[i] == 0) continue;
    StepRisk step{i, 0, sim::wilson(part.bad[i], part.slipped[i]), part.slipped[i], part.bad[i]};
    step.chance = slip_chance(scenario.people[0].script[i], factors) * harm(step);
    risk.steps.push_back(step);
  }
  const auto harmed = std::accumulate(part.bad.begin(), part.bad.end(), std::uint64_t{0});
  const double by_slips = part.with_one_slip == 0 ? 0
                                                  : risk.slips_expected * static_cast<double>(harmed) /
                                                        static_cast<double>(part.with_one_slip);
  const double by_timing = part.without_slip == 0 ? 0
                                                  : static_cast<double>(part.bad_without_slip) /
                                                        static_cast<double>(part.without_slip);
  risk.chance = 1 - (1 - by_timing) * std::exp(-by_slips);
  std::stable_sort(risk.steps.begin(), risk.steps.end(),
                   [](const StepRisk& a, const StepRisk& b) { return a.chance > b.chance; });
  return risk;
}

}  // namespace drybus::model
