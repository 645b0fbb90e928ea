// The nearest right word to a wrong one.
#pragma once

#include <cstddef>
#include <span>
#include <string>
#include <string_view>

namespace drybus::tools {

/// How many characters have to be put in, taken out, changed or swapped with their neighbour to make one word
/// of the other (optimal string alignment), upper and lower case alike; `limit + 1` as soon as it is more
/// than `limit`.
std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit);

/// The candidate nearest to `word`, the first of equals; empty when none is near enough to be meant.
std::string nearest(std::string_view word, std::span<const std::string> candidates);
std::string nearest(std::string_view word, std::span<const std::string_view> candidates);

/// "one of: a, b, c"; long lists end in "...".
std::string one_of(std::span<const std::string> candidates);
std::string one_of(std::span<const std::string_view> candidates);

/// " Did you mean 'run'?" for the nearest of the candidates, or nothing when none is near.
std::string did_you_mean(std::string_view word, std::span<const std::string> candidates);

}  // namespace drybus::tools
