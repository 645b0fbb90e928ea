// Tells two device logics apart: searches what an installer can do after a scenario's script, slips and
// faults included, for the fewest moves after which the two differ in what can be seen or heard
// (model/observables.h).
//
// Both do the same in two worlds side by side. A pair of worlds that was met before is not gone on from.
#pragma once

#include <string>
#include <vector>

#include "model/hunt/moves.h"
#include "model/people/script.h"
#include "model/world/world.h"
#include "sim/explore.h"

namespace drybus::model {

struct TellApartOptions {
  MoveBudget budget{};  ///< looks are not taken, nor cuts of the power in the middle of a step
  sim::SearchBounds bounds{.depth = 8, .states = 2'000'000, .memory_bytes = std::uint64_t{4} << 30};
  std::size_t jobs = 1;  ///< threads, at least 1; the result is the same for any number
};

struct TellApartResult {
  sim::SearchResult search;  ///< SearchEnd::broken: they were told apart
  bool already = false;      ///< by the scenario itself
  std::vector<Step> steps;   ///< the installer's, after the scenario's own
  Scenario
      found;  ///< the scenario with these steps and with what is then so with the first logic; if told apart
};

/// The two scenarios are the same but for how devices react (Site::logic, or numbers of the family that no
/// move depends on). REQUIRES: the script ends within `default_run_bound` (else std::invalid_argument); there
/// is an installer.
TellApartResult tell_apart(const Scenario& a, const Scenario& b, const TellApartOptions& options = {},
                           const sim::SearchControl& control = {});

}  // namespace drybus::model
