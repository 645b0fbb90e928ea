// A bank of switches as it looks on the plate, in text and as a picture.
#pragma once

#include <string>

#include "model/family/switch_bank.h"

namespace drybus::tools {

/// A few lines: each switch with its number and what it is worth, or each dial with the digit it shows.
std::string switch_drawing(const model::SwitchBank& bank, std::uint8_t number);

/// The same as an SVG element in black and white.
std::string switch_svg(const model::SwitchBank& bank, std::uint8_t number);

}  // namespace drybus::tools
