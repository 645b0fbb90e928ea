#include "sim/hypotheses.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <queue>
#include <set>

namespace drybus::sim {

namespace {

/// How often the caller is asked whether to go on.
constexpr std::size_t asked_every = 16;
constexpr std::size_t told_every = 256;

/// A set that waits: to be tried, or, once tried, to be extended.
struct Waiting {
  double key = 0;           ///< the most that its weight, or that of a set with more parts, could be
  std::uint64_t order = 0;  ///< ties go to what came first, so that no answer depends on the heap
  PartSet parts;
  double log_prior = 0;
  double log_fit = 0;
  bool tried = false;

  bool operator<(const Waiting& other) const {
    return key != other.key ? key < other.key : order > other.order;
  }
};

/// Chances that just so many parts went wrong, against none: elementary symmetric polynomials of the odds.
class PriorMass {
 public:
  PriorMass(const HypothesisSpace& space, std::size_t most_parts) : by_size_(most_parts + 1, 0.0) {
    by_size_[0] = 1;
    for (PartId part = 0; part < space.part_count(); ++part) {
      const double odds = std::exp(space.log_odds(part));
      log_greatest_ = std::max(log_greatest_, space.log_odds(part));
      log_all_ += std::log1p(odds);
      for (std::size_t size = most_parts; size > 0; --size) by_size_[size] += odds * by_size_[size - 1];
    }
  }

  /// The share of everything that sets of up to most_parts parts have.
  [[nodiscard]] double within() const {
    double sum = 0;
    for (const double mass : by_size_) sum += mass;
    return sum * std::exp(-log_all_);
  }

  /// Log odds of the likeliest part.
  [[nodiscard]] double log_greatest() const { return log_greatest_; }

  /// What a set stands for by itself.
  [[nodiscard]] double of(const Waiting& waiting) const { return std::exp(waiting.log_prior - log_all_); }

  /// About what a set that waits stands for: itself unless it was tried, and its share of all that it can grow to. A larger
  /// set grows out of as many smaller ones as it has subsets of their size.
  [[nodiscard]] double behind(const Waiting& waiting) const {
    const double own = std::exp(waiting.log_prior);
    double growth = waiting.tried ? 0 : 1;
    double subsets = 1;
    for (std::size_t more = 1; waiting.parts.size() + more < by_size_.size(); ++more) {
      subsets *= static_cast<double>(waiting.parts.size() + more) / static_cast<double>(more);
      growth += by_size_[more] / subsets;
    }
    return own * growth * std::exp(-log_all_);
  }

 private:
  std::vector<double> by_size_;
  double log_all_ = 0;
  double log_greatest_ = impossible;
};

class Explorer {
 public:
  Explorer(HypothesisSpace& space, const ExploreLimits& limits)
      : space_(space), limits_(limits), mass_(space, limits.most_parts) {}

  Exploration run() {
    push({}, 0.0, 0.0);
    while (!queue_.empty() && queue_.top().key > least_weight()) {
      if (out_.tried >= limits_.most_tried || told_to_stop()) return finish(false);
      const Waiting next = queue_.top();
      queue_.pop();
      next.tried ? extend(next) : try_out(next);
    }
    return finish(true);
  }

 private:
  [[nodiscard]] double least_weight() const { return best_ + std::log(limits_.least_ratio); }

  void push(PartSet parts, double log_prior, double bound) {
    queue_.push({log_prior + bound, next_order_++, std::move(parts), log_prior, bound, false});
  }

  bool told_to_stop() {
    ++asked_;
    if (limits_.progress && asked_ % told_every == 0) limits_.progress(explored());
    if (limits_.go_on && asked_ % asked_every == 0) out_.stopped = !limits_.go_on();
    return out_.stopped;
  }

  void try_out(Waiting next) {
    ++out_.tried;
    tried_mass_ += mass_.of(next);
    next.log_fit = space_.log_fit(next.parts, std::max(least_weight() - next.log_prior, impossible));
    const double weight = next.log_prior + next.log_fit;
    if (weight > least_weight()) out_.sets.push_back({next.parts, next.log_fit, weight});
    best_ = std::max(best_, weight);
    if (next.parts.size() >= limits_.most_parts) return;
    next.tried = true;
    // The likeliest part can make the fit perfect at best; which one could, is for extend() to say.
    next.key = next.log_prior + mass_.log_greatest();
    next.order = next_order_++;
    queue_.push(std::move(next));
  }

  void extend(const Waiting& parent) {
    extensions_.clear();
    space_.extensions(parent.parts, parent.log_fit, extensions_);
    for (const Extension& extension : extensions_) {
      PartSet parts = parent.parts;
      parts.insert(std::upper_bound(parts.begin(), parts.end(), extension.part), extension.part);
      if (!seen_.insert(parts).second) continue;
      push(std::move(parts), parent.log_prior + space_.log_odds(extension.part), extension.log_fit_bound);
    }
  }

  [[nodiscard]] double explored() const {
    double left = 0;
    auto rest = queue_;
    for (; !rest.empty() && rest.top().key > least_weight(); rest.pop()) left += mass_.behind(rest.top());
    // Sets that wait share many of those that they can grow to; what was tried itself counts in any case.
    return std::clamp(std::max(mass_.within() - left, tried_mass_), 0.0, 1.0);
  }

  Exploration finish(bool complete) {
    out_.complete = complete;
    out_.explored = explored();
    std::erase_if(out_.sets, [&](const WeighedSet& set) { return set.log_weight < least_weight(); });
    std::stable_sort(out_.sets.begin(), out_.sets.end(),
                     [](const WeighedSet& a, const WeighedSet& b) { return a.log_weight > b.log_weight; });
    return std::move(out_);
  }

  HypothesisSpace& space_;
  const ExploreLimits& limits_;
  PriorMass mass_;
  std::priority_queue<Waiting> queue_;
  std::set<PartSet> seen_;
  std::vector<Extension> extensions_;
  Exploration out_;
  double best_ = impossible;
  double tried_mass_ = 0;
  std::uint64_t next_order_ = 0;
  std::size_t asked_ = 0;
};

}  // namespace

Exploration explore(HypothesisSpace& space, const ExploreLimits& limits) {
  return Explorer{space, limits}.run();
}

std::vector<PartSet> minimal_sets(std::vector<PartSet> sets) {
  std::sort(sets.begin(), sets.end(), [](const PartSet& a, const PartSet& b) {
    return a.size() != b.size() ? a.size() < b.size() : a < b;
  });
  std::vector<PartSet> minimal;
  for (PartSet& set : sets) {
    const bool holds_another = std::any_of(minimal.begin(), minimal.end(), [&](const PartSet& smaller) {
      return std::includes(set.begin(), set.end(), smaller.begin(), smaller.end());
    });
    if (!holds_another) minimal.push_back(std::move(set));
  }
  return minimal;
}

double log_odds_of(double chance) {
  return std::log(chance) - std::log1p(-chance);
}

}  // namespace drybus::sim
