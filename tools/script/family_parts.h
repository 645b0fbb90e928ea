// Parts of a family's file that stand alone: what feeds its bus, how right its clocks are.
#pragma once

#include <cstdint>

#include "model/family/circuit.h"
#include "tools/script/fields.h"

namespace drybus::tools {

model::SupplyRating read_supply(const Node& node, Complaints& complaints);

/// In parts of 10^9.
std::uint32_t read_clock(const Node& node, Complaints& complaints);

}  // namespace drybus::tools
