// Presses that were meant for setup and taken for something else. What somebody meant shows by what they do next.
#pragma once

#include "model/world/world.h"
#include "sim/record.h"

namespace drybus::model {

/// Who goes on with setup work does so by then. Common practice, no source.
inline constexpr sim::Duration goes_on_within = std::chrono::minutes{2};

/// Whether a What::misread entry says by itself that the press was meant as it was noted. Who steps a plate that was left to its
/// time-out after some work, or leaves setup there, may as well want light; and everybody sees a power cut.
/// `unsure_before`: another press on the same plate was as unsure, not longer than goes_on_within before.
bool speaks_for_itself(const Site& site, const World& world, const sim::Entry& misread, bool unsure_before);

/// Whether a What::mode entry shows that presses on the plate were meant for setup: it is put there again, or, while it is still
/// taken for in setup, a module is that is to have its address from it.
bool goes_on_with(const Site& site, const World& world, const sim::Entry& mode, DeviceId plate);

}  // namespace drybus::model
