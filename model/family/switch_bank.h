// How a number stands on a plate's switches: which are up, or what each dial shows.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/family/family.h"

namespace drybus::model {

/// Of each switch, lowest first: 1 up and 0 down, or the digit that a dial shows. REQUIRES: number <=
/// bank.largest().
std::vector<std::uint8_t> positions(const SwitchBank& bank, std::uint8_t number);

/// The number that these positions show; nothing when they are not as many as the bank has, or show more than
/// 255.
std::optional<std::uint8_t> number_shown(const SwitchBank& bank, std::span<const std::uint8_t> positions);

/// "101001", as binary is written: the highest switch first. Nothing when the text is not one 0 or 1 for each
/// switch.
std::optional<std::uint8_t> parse_pattern(const SwitchBank& bank, std::string_view text);

/// The same the other way about.
std::string pattern_text(const SwitchBank& bank, std::uint8_t number);

/// "switches 1, 4 and 6 up", "all switches down", "dial 2 at 4, dial 1 at 1".
std::string switches_text(const SwitchBank& bank, std::uint8_t number);

}  // namespace drybus::model
