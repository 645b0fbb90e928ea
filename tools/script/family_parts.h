// Parts of a family's file that stand alone: what feeds its bus, how right its clocks are.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "model/family/circuit.h"
#include "model/family/family.h"
#include "tools/script/fields.h"

namespace drybus::tools {

model::SupplyRating read_supply(const Node& node, Complaints& complaints);

/// In parts of 10^9.
std::uint32_t read_clock(const Node& node, Complaints& complaints);

/// Takes the words that say for whom a command is, such as "whole site", off its end.
model::Whom take_whom(std::string& text);

/// The number of a scene, 1 to `scenes`; says whether it is one.
bool read_scene(std::string_view text, std::uint8_t scenes, std::uint8_t& scene);

}  // namespace drybus::tools
