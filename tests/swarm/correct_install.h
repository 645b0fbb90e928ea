// Installs as they should be, at random: zones one after another, by one or several people, on one or several buses or by
// radio, with neighbours; plates that are left by their button or to their time-out. Nothing goes wrong in them, so
// whatever is found in one accuses somebody who did everything right.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "model/run/run.h"

namespace drybus::tests {

/// Every family that lies there, by name.
std::vector<model::Family> families_in(const std::string& folder);

/// The install of a seed, of one of the families.
model::Scenario correct_install(const std::vector<model::Family>& families, std::uint64_t seed);

/// What is wrong with the install or with what is said of it, in words; empty when every module got its address and
/// nothing was found.
std::string accusation(const model::Scenario& scenario);

}  // namespace drybus::tests
