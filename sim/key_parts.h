// Keys of states as rows of parts, so that a set can store what many keys have in common once (PartedKeySet).
#pragma once

#include <cstddef>
#include <span>
#include <stdexcept>
#include <vector>

namespace drybus::sim {

/// Of a part's length, which stands before it.
inline constexpr std::size_t part_length_bytes = 3;

/// Appends a part to a key in parts. Throws std::length_error for one of 16 MiB or more.
inline void add_part(std::vector<std::byte>& key, std::span<const std::byte> part) {
  if (part.size() >> 8 * part_length_bytes != 0)
    throw std::length_error{"a state's key is too long to be kept"};
  for (std::size_t i = 0; i < part_length_bytes; ++i)
    key.push_back(static_cast<std::byte>(part.size() >> 8 * i & 0xff));
  key.insert(key.end(), part.begin(), part.end());
}

/// Takes the first part off the rest of a key. REQUIRES: there is one.
inline std::span<const std::byte> take_part(std::span<const std::byte>& key) {
  std::size_t length = 0;
  for (std::size_t i = 0; i < part_length_bytes; ++i) length |= std::to_integer<std::size_t>(key[i]) << 8 * i;
  const auto part = key.subspan(part_length_bytes, length);
  key = key.subspan(part_length_bytes + length);
  return part;
}

}  // namespace drybus::sim
