// Why not: the smallest change to what the installer did after which a fact would have been another.
#pragma once

#include <optional>
#include <string>

#include "model/why/counterfactual.h"

namespace drybus::model {

/// What would have had to be different, and the scenario in which it is so.
struct NearestWay {
  std::string change;  ///< "had they waited 20 s at 1:45.5 instead of 50 s"
  Scenario scenario;
  std::size_t tried = 0;  ///< runs, this one included
};

/// Tries one change at a time, the smallest kind first: a hold held long enough, a press done once more, a step left out,
/// a wait or a walk cut short (by no more than needed, to 0.1 s), a missing act put in. Every answer has been run:
/// at the time of the question its fact is `value`, as a check would want it, and there are no more findings than
/// before. Nothing when no single change does
/// it. REQUIRES: the question is about a fact, not a finding.
std::optional<NearestWay> nearest_way(const Scenario& scenario, const Question& question,
                                      const std::string& value);

}  // namespace drybus::model
