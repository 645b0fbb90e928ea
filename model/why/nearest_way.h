// Why not: the smallest change to what the installer did after which a fact would have been another.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/why/counterfactual.h"

namespace drybus::model {

/// What would have had to be different, and the scenario in which it is so.
struct NearestWay {
  std::string change;  ///< "had they waited 20 s at 1:45.5 instead of 50 s"
  Scenario scenario;
  std::size_t tried = 0;       ///< runs, this one included
  std::vector<Finding> found;  ///< what is out of step then and was not before, without words; mostly nothing
};

/// Tries one change at a time, the smallest kind first: a hold held long enough, a wait or the walks cut short (by no more
/// than needed, to 0.1 s), a press done once more, a step left out, a missing act put in. Every answer has been run:
/// at the time of the question its fact is `value`, as a check would want it. A way that puts nothing else out of step goes
/// before one that does; of those, the one with the fewest new findings. Nothing when no change of `changes_tried` does it.
/// REQUIRES: the question is about a fact, not a finding.
std::optional<NearestWay> nearest_way(const Scenario& scenario, const WhyQuestion& question,
                                      const std::string& value);

/// Every kind of change that was tried before there was no way: "every step left out, ...".
std::string changes_tried(const Scenario& scenario, const WhyQuestion& question, const std::string& value);

/// The rule that keeps the value out whatever is pressed, as a sentence; empty where none is known.
std::string rule_against(const Scenario& scenario, const WhyQuestion& question, const std::string& value);

}  // namespace drybus::model
