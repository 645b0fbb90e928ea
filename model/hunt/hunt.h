// The shortest way to break it: searches what an installer can do after a scenario's script, slips and faults included, for
// the fewest moves that bring a finding about or make a fact false.
//
// The moves stand in for what people do: presses and holds last as long as people's do, waits end just before or just after
// a time-out. "Holds within the bounds" is a statement about these moves, not about every nanosecond between them.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/hunt/goal.h"
#include "model/hunt/moves.h"
#include "model/people/script.h"
#include "model/world/key.h"
#include "sim/explore.h"

namespace drybus::model {

struct HuntOptions {
  MoveBudget budget;
  sim::SearchBounds bounds{.depth = 8, .states = 2'000'000, .memory_bytes = std::uint64_t{4} << 30};
  bool compact = false;  ///< keep fingerprints instead of whole keys: see HuntResult::omission
  bool symmetry = true;  ///< count arrangements of like modules as one
  std::size_t jobs = 1;  ///< threads, at least 1; the result is the same for any number
};

struct HuntResult {
  sim::SearchResult search;  ///< SearchEnd::broken: something was found
  bool already = false;      ///< the scenario itself breaks it, without any further move
  std::vector<Step> steps;   ///< the installer's, after the scenario's own
  Scenario found;            ///< with these steps and an expectation of what then is so; unless nothing was
  Alike alike;               ///< modules that were taken for interchangeable
  std::optional<double> omission;  ///< compact: the chance that any state was taken for another
  Notes noted = 0;                 ///< what ever happened in the moves that were tried
};

/// REQUIRES: the scenario's script ends within `default_run_bound` (else std::invalid_argument); there is an installer.
HuntResult hunt(const Scenario& scenario, const HuntGoal& goal, const HuntOptions& options = {},
                const sim::SearchControl& control = {});

}  // namespace drybus::model
