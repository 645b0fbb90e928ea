// Runs a cure in a world, step by step, and keeps what could be seen and what came of it.
#pragma once

#include <span>
#include <vector>

#include "model/people/script.h"
#include "model/world/world.h"

namespace drybus::model {

struct Rehearsal {
  World world;  ///< when the last step is over
  /// By step, by device: what its indicator shows when the step is over.
  std::vector<std::vector<Pattern>> shown;
};

/// The scenario's installer does the steps, from where they stand. `watched`: keep what the indicators show.
Rehearsal rehearse(const Scenario& scenario, const World& world, std::span<const Step> steps, bool watched);

}  // namespace drybus::model
