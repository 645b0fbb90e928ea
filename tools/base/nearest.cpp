#include "tools/base/nearest.h"

#include <algorithm>
#include <array>

#include "model/words/words.h"

namespace drybus::tools {

using model::tr;

namespace {

/// Longer words are nobody's slip of the finger.
constexpr std::size_t longest_word = 48;

char lower(char c) {
  return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
}
bool same(char a, char b) {
  return lower(a) == lower(b);
}

/// One slip in a short word, up to three in a long one.
std::size_t tolerated(std::size_t length) {
  return std::min<std::size_t>(3, length < 3 ? 1 : 1 + length / 4);
}

template <class Word>
std::string nearest_of(std::string_view word, std::span<const Word> candidates) {
  std::string best;
  std::size_t best_distance = tolerated(word.size()) + 1;
  for (const Word& candidate : candidates) {
    if (candidate.empty() || candidate == word) continue;
    const std::size_t distance = edit_distance(word, candidate, best_distance - 1);
    // A distance as long as the word itself says that nothing of it is left.
    if (distance >= best_distance || distance >= std::max(word.size(), candidate.size())) continue;
    best = candidate;
    best_distance = distance;
    if (distance == 0) break;
  }
  return best;
}

template <class Word>
std::string list_of(std::span<const Word> candidates) {
  constexpr std::size_t shown = 24;
  std::string text = candidates.size() == 1 ? "" : tr("one of: ");
  for (std::size_t i = 0; i < std::min(candidates.size(), shown); ++i) {
    if (i > 0) text += ", ";
    text += candidates[i];
  }
  return candidates.size() > shown ? text + ", ..." : text;
}

}  // namespace

std::size_t edit_distance(std::string_view a, std::string_view b, std::size_t limit) {
  const std::size_t gap = a.size() > b.size() ? a.size() - b.size() : b.size() - a.size();
  if (gap > limit || std::max(a.size(), b.size()) > longest_word) return limit + 1;
  using Row = std::array<std::size_t, longest_word + 1>;
  Row before_last{};
  Row last{};
  Row row{};
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    before_last = last;
    last = row;
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t changed = last[j - 1] + (same(a[i - 1], b[j - 1]) ? 0u : 1u);
      row[j] = std::min({last[j] + 1, row[j - 1] + 1, changed});
      const bool swapped = i > 1 && j > 1 && same(a[i - 1], b[j - 2]) && same(a[i - 2], b[j - 1]);
      if (swapped) row[j] = std::min(row[j], before_last[j - 2] + 1);
    }
  }
  return std::min(row[b.size()], limit + 1);
}

std::string nearest(std::string_view word, std::span<const std::string> candidates) {
  return nearest_of(word, candidates);
}
std::string nearest(std::string_view word, std::span<const std::string_view> candidates) {
  return nearest_of(word, candidates);
}

std::string one_of(std::span<const std::string> candidates) {
  return list_of(candidates);
}
std::string one_of(std::span<const std::string_view> candidates) {
  return list_of(candidates);
}

std::string did_you_mean(std::string_view word, std::span<const std::string> candidates) {
  const std::string near = nearest(word, candidates);
  return near.empty() ? "" : tr(" Did you mean '{}'?", near);
}

}  // namespace drybus::tools
