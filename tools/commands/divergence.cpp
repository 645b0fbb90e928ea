#include "tools/commands/divergence.h"

#include <algorithm>

namespace drybus::tools {

namespace {

bool is_visible(const ToldEntry& entry) {
  return entry.kind == "indicator" || entry.kind == "level";
}

std::vector<std::size_t> visible_entries(const std::vector<ToldEntry>& record) {
  std::vector<std::size_t> indices;
  for (std::size_t i = 0; i < record.size(); ++i) {
    if (is_visible(record[i])) indices.push_back(i);
  }
  return indices;
}

}  // namespace

std::optional<Parting> first_difference(const std::vector<ToldEntry>& a, const std::vector<ToldEntry>& b) {
  const auto [at_a, at_b] = std::mismatch(a.begin(), a.end(), b.begin(), b.end());
  if (at_a == a.end() && at_b == b.end()) return std::nullopt;
  return Parting{static_cast<std::size_t>(at_a - a.begin()), static_cast<std::size_t>(at_b - b.begin())};
}

std::optional<Parting> first_visible_difference(const std::vector<ToldEntry>& a,
                                                const std::vector<ToldEntry>& b) {
  const std::vector<std::size_t> seen_a = visible_entries(a);
  const std::vector<std::size_t> seen_b = visible_entries(b);
  const auto alike = [&](std::size_t i, std::size_t j) {
    return a[i].at_ns == b[j].at_ns && a[i].text == b[j].text;
  };
  const auto [at_a, at_b] = std::mismatch(seen_a.begin(), seen_a.end(), seen_b.begin(), seen_b.end(), alike);
  if (at_a == seen_a.end() && at_b == seen_b.end()) return std::nullopt;
  return Parting{at_a == seen_a.end() ? a.size() : *at_a, at_b == seen_b.end() ? b.size() : *at_b};
}

std::vector<const ToldEntry*> causes_of(const std::vector<ToldEntry>& record, std::size_t index,
                                        std::size_t limit) {
  std::vector<const ToldEntry*> chain;
  while (index < record.size() && chain.size() < limit) {
    const ToldEntry& entry = record[index];
    chain.push_back(&entry);
    if (entry.kind == "step" || entry.cause == 0) break;
    index = entry.cause - 1;
  }
  return chain;
}

}  // namespace drybus::tools
