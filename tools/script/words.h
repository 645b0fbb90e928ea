// The words that stand for the model's enumerations in files.
#pragma once

#include <cstddef>
#include <span>
#include <string_view>
#include <vector>

namespace drybus::tools::words {

/// All words of an enumeration, in the order of its enumerators.
std::span<const std::string_view> power_ups();
std::span<const std::string_view> dimmings();
std::span<const std::string_view> modes();
std::span<const std::string_view> patterns();
std::span<const std::string_view> facts();
std::span<const std::string_view> findings();

/// A word within a text.
struct Part {
  std::string_view text;
  std::size_t offset = 0;  ///< bytes
};

/// The words between blanks.
std::vector<Part> split(std::string_view text);

}  // namespace drybus::tools::words
