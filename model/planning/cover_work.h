// How long it takes to change a plate's switches: nobody does that on a live plate, so the supply goes first.
//
// All of it is common practice, no source: what a competent person needs in a building that they know, with the
// board at hand. It is not a bound on the time that anybody may take.
#pragma once

#include <vector>

#include "model/people/setup_steps.h"

namespace drybus::model {

/// Until everything of ours is isolated at the supply, locked off and proved dead.
inline constexpr sim::Duration isolating_takes = std::chrono::minutes{3};
/// For one plate: its cover comes off, its switches are set and read back, its cover goes on.
inline constexpr sim::Duration setting_takes = std::chrono::minutes{2};
/// Until the lock is off, the supply is on and the devices have started.
inline constexpr sim::Duration restoring_takes = std::chrono::minutes{1};

/// The supply of everything of ours is isolated or restored, and the time that this takes.
std::vector<Step> isolation_steps(bool restored);

}  // namespace drybus::model
