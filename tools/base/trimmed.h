// A text without the space around it.
#pragma once

#include <string_view>

namespace drybus::tools {

/// Without spaces, tabs and line ends at either end; a part of `text`, which has to outlive it.
constexpr std::string_view trimmed(std::string_view text) {
  constexpr std::string_view space = " \t\r\n";
  const auto first = text.find_first_not_of(space);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(space) - first + 1);
}

}  // namespace drybus::tools
