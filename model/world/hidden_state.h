// What nobody can see of a world and what decides how it goes on and how it is put right: addresses, modes, switches,
// power, broken links, stuck buttons. Not in it: the time left of anything, and what shows.
#pragma once

#include <cstdint>
#include <vector>

#include "model/people/script.h"
#include "model/world/world.h"

namespace drybus::model {

/// Equal for worlds in the same hidden state. REQUIRES: worlds that are compared have the same devices and links.
using HiddenState = std::vector<std::uint64_t>;
HiddenState hidden_state(const Site& site, const World& world);

/// Devices of which the two differ; broken links stand for nobody.
std::vector<DeviceId> devices_that_differ(const Site& site, const HiddenState& a, const HiddenState& b);

}  // namespace drybus::model
