// Words in which callers tell what they see, and numbers told short.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>

#include "model/family/family.h"
#include "model/people/script.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

/// "on", "off" and "steady" in the words of `see`: of a load "lit", "dark" and "lit", of a lamp "steady", "dark" and
/// "steady". Any other word as it is.
std::string told_value(model::Fact fact, const std::string& written);

/// "23/4", as a plate of the family can be set; any where there is no family.
Quantity<std::pair<std::uint8_t, std::uint8_t>> parse_switches(const model::Family* family,
                                                               std::string_view written);

}  // namespace drybus::tools
