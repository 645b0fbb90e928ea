// Hypothesis spaces of circuits for tests of sim::explore: what is observed is possible or it is not.
#pragma once

#include <algorithm>
#include <functional>
#include <set>
#include <utility>
#include <vector>

#include "sim/hypotheses.h"

namespace drybus::tests {

/// Parts of which each may be faulty; a set of faulty ones is consistent with what was observed, or not.
class FaultyParts final : public sim::HypothesisSpace {
 public:
  using Consistent = std::function<bool(const sim::PartSet& faulty)>;

  FaultyParts(std::size_t parts, double chance, Consistent consistent)
      : parts_(parts), log_odds_(sim::log_odds_of(chance)), consistent_(std::move(consistent)) {}

  [[nodiscard]] std::size_t part_count() const override { return parts_; }
  [[nodiscard]] double log_odds(sim::PartId) const override { return log_odds_; }
  [[nodiscard]] double log_fit(const sim::PartSet& set, double) override {
    return consistent_(set) ? 0 : sim::impossible;
  }
  void extensions(const sim::PartSet& set, double, std::vector<sim::Extension>& into) override {
    for (sim::PartId part = 0; part < parts_; ++part) {
      if (std::find(set.begin(), set.end(), part) == set.end()) into.push_back({part, 0});
    }
  }

 private:
  std::size_t parts_;
  double log_odds_;
  Consistent consistent_;
};

/// The minimal sets of up to `most` faulty parts that are consistent.
inline std::set<sim::PartSet> minimal_diagnoses(FaultyParts& space, std::size_t most = 3) {
  sim::ExploreLimits limits;
  limits.most_parts = most;
  limits.least_ratio = 1e-12;
  std::vector<sim::PartSet> sets;
  for (const sim::WeighedSet& each : sim::explore(space, limits).sets) {
    if (each.log_fit == 0) sets.push_back(each.parts);
  }
  const auto minimal = sim::minimal_sets(std::move(sets));
  return {minimal.begin(), minimal.end()};
}

}  // namespace drybus::tests
