// A cure as a scenario: what was done so far, then the cure, and in the end what must be so.
#pragma once

#include "model/recovery/recover.h"
#include "model/run/run.h"

namespace drybus::model {

struct CuredScenario {
  Scenario scenario;
  RunResult run;                   ///< of that scenario
  std::size_t dropped_checks = 0;  ///< that failed before the cure and would fail again
  /// It passes, and no finding is open in the end.
  [[nodiscard]] bool proves() const;
};

/// `ended`: when the scenario's run was over. Steps carry what is told of them. REQUIRES: there is a cure,
/// or nothing to do.
CuredScenario cured_scenario(const Scenario& scenario, const Cure& cure, sim::Instant ended);

}  // namespace drybus::model
