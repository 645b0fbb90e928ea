// OpenDocument spreadsheets (ISO/IEC 26300): a zip archive whose content.xml holds the sheets. libzip opens the one,
// pugixml reads the other.
#pragma once

#include <string>
#include <string_view>

#include "tools/schedule/table.h"

namespace drybus::tools {

/// The sheet of that name, or the first one. A cell's number is as it is stored, not as it is shown; the result of a
/// formula counts, a formula that failed is marked. Throws Unusable for what is no such file, or too large: what is
/// compressed may not unfold to more than `max_unfolded_bytes`.
inline constexpr std::size_t max_unfolded_bytes = std::size_t{64} << 20;
Table read_ods(const std::string& path, std::string_view bytes, const std::string& sheet);

}  // namespace drybus::tools
