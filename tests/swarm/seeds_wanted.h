// "PROGRAM FIRST COUNT": so many cases, from that seed on.
#pragma once

#include <fmt/format.h>

#include <charconv>
#include <cstdint>
#include <cstdio>
#include <string_view>

namespace drybus::tests {

struct SeedsWanted {
  std::uint64_t first = 0;
  std::uint64_t cases = 0;  ///< 0: the words were none of this; the usage was told
};

inline SeedsWanted seeds_wanted(int count, char** words) {
  const auto number = [](std::string_view text) {
    std::uint64_t value = 0;
    std::from_chars(text.data(), text.data() + text.size(), value);
    return value;
  };
  SeedsWanted wanted;
  if (count == 3) wanted = {number(words[1]), number(words[2])};
  if (wanted.cases == 0) fmt::print(stderr, "usage: {} FIRST COUNT\n", words[0]);
  return wanted;
}

}  // namespace drybus::tests
