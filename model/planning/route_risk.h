// Which steps of a script are the riskiest: runs with human timing and slips, in which a site was left out of
// step.
#pragma once

#include <cstdint>
#include <vector>

#include "model/run/human.h"
#include "sim/statistics.h"

namespace drybus::model {

/// Runs [first, first + count), added up. Adding parts in any order gives the same whole.
struct RiskPart {
  std::uint64_t runs = 0;
  std::uint64_t slips = 0;
  std::uint64_t without_slip = 0;
  std::uint64_t bad_without_slip = 0;
  std::uint64_t with_one_slip = 0;
  std::vector<std::uint64_t> slipped;  ///< of each step of the installer: runs in which it was the only slip
  std::vector<std::uint64_t> bad;      ///< of those, the ones that left something out of step
  void add(const RiskPart& other);
  friend bool operator==(const RiskPart&, const RiskPart&) = default;
};

struct StepRisk {
  std::uint32_t step = 0;
  double chance = 0;         ///< that this step is slipped at and something is out of step in the end
  sim::Interval given_slip;  ///< chance of that once the slip is made, 95 %
  std::uint64_t slipped = 0;
  std::uint64_t bad = 0;
};

struct RouteRisk {
  std::uint64_t runs = 0;
  double slips_expected = 0;   ///< in one go through the route
  double chance = 0;           ///< that something is out of step in the end; slips taken one at a time
  sim::Interval without_slip;  ///< by timing alone, 95 %
  std::uint64_t bad_without_slip = 0;
  std::vector<StepRisk> steps;  ///< the riskiest first; those that never did harm are left out
};

/// How much the slips' chances are raised or lowered so that a run has about one: rare slips are seen often
/// enough that way, and what each does is told apart from the others.
double slip_scale(const Scenario& scenario, const HumanFactors& factors);

/// "Out of step": an intended address that does not hold, or a finding that is still open at the end.
RiskPart risk_runs(const Scenario& scenario, const HumanFactors& factors, std::uint64_t seed,
                   std::uint64_t first, std::uint64_t count);

/// What the runs say about people whose chances are `factors`. REQUIRES: made by risk_runs with the same
/// ones.
RouteRisk risk_of(const Scenario& scenario, const HumanFactors& factors, const RiskPart& part);

}  // namespace drybus::model
