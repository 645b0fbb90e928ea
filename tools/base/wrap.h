// Text in columns.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

namespace drybus::tools {

/// Columns of what commands tell on a terminal.
inline constexpr std::size_t told_width = 110;

/// How many columns UTF-8 text takes, every character counted as one.
std::size_t columns(std::string_view text);

/// Breaks text at spaces into lines of at most `width` columns; a longer word stands alone.
std::vector<std::string> wrapped(std::string_view text, std::size_t width);

/// Text filled up with spaces to `width` columns.
std::string padded(std::string_view text, std::size_t width);

/// Paragraphs, each wrapped, every line after `indent`; the first line of each after `first_indent`.
std::string paragraph(std::string_view text, std::size_t width, std::string_view first_indent,
                      std::string_view indent);

}  // namespace drybus::tools
