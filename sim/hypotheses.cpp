#include "sim/hypotheses.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <queue>

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
  double bound = 0;  ///< how well it may fit
  double log_fit = 0;

  bool operator<(const Waiting& other) const {
    return key != other.key ? key < other.key : order > other.order;
  }
};

/// Prior probabilities of sets by their size. Of parts that go wrong independently they come from the elementary
/// symmetric polynomials of the odds.
class PriorMass {
 public:
  PriorMass(const HypothesisSpace& space, const ExploreLimits& limits)
      : by_size_(limits.most_parts + 1, 0.0) {
    by_size_[0] = 1;
    for (PartId part = 0; part < space.part_count(); ++part) {
      const double odds = std::exp(space.log_odds(part));
      log_greatest_ = std::max(log_greatest_, space.log_odds(part));
      log_all_ += std::log1p(odds);
      for (std::size_t size = limits.most_parts; size > 0; --size)
        by_size_[size] += odds * by_size_[size - 1];
    }
    log_share_.assign(by_size_.size(), 0.0);
    if (limits.chance_of_size.empty()) return;
    log_all_ = 0;
    for (std::size_t size = 0; size < by_size_.size(); ++size)
      log_share_[size] = std::log(limits.chance_of_size[size]) - std::log(std::max(by_size_[size], 1e-300));
  }

  /// To be added to the log odds of a set's parts for its log prior.
  [[nodiscard]] double log_share(std::size_t size) const { return log_share_[size]; }

  /// The share of everything that sets of up to most_parts parts have.
  [[nodiscard]] double within() const {
    double sum = 0;
    for (std::size_t size = 0; size < by_size_.size(); ++size)
      sum += by_size_[size] * std::exp(log_share_[size]);
    return sum * std::exp(-log_all_);
  }

  /// Log odds of the likeliest part.
  [[nodiscard]] double log_greatest() const { return log_greatest_; }

  /// What a set stands for by itself.
  [[nodiscard]] double of(const Waiting& waiting) const { return std::exp(waiting.log_prior - log_all_); }

  /// About what a set that waits stands for: itself and its share of all that it can grow to.
  [[nodiscard]] double behind(const Waiting& waiting) const { return of(waiting) + behind_larger(waiting); }

  /// Its share of all that it can grow to. A larger set grows out of as many smaller ones as it has subsets
  /// of their size.
  [[nodiscard]] double behind_larger(const Waiting& waiting) const {
    const std::size_t size = waiting.parts.size();
    double growth = 0;
    double subsets = 1;
    for (std::size_t more = 1; size + more < by_size_.size(); ++more) {
      subsets *= static_cast<double>(size + more) / static_cast<double>(more);
      growth += by_size_[more] / subsets * std::exp(log_share_[size + more] - log_share_[size]);
    }
    return of(waiting) * growth;
  }

 private:
  std::vector<double> by_size_;
  std::vector<double> log_share_;
  double log_all_ = 0;
  double log_greatest_ = impossible;
};

class Explorer {
 public:
  Explorer(HypothesisSpace& space, const ExploreLimits& limits)
      : space_(space), limits_(limits), mass_(space, limits) {}

  Exploration run() {
    push({}, mass_.log_share(0), 0.0);
    bool complete = true;
    for (std::size_t size = 0; size <= limits_.most_parts && !out_.stopped; ++size) {
      complete &= try_all(size);
      if (size < limits_.most_parts && !out_.stopped) complete &= extend_all();
    }
    return finish(complete && !out_.stopped);
  }

 private:
  [[nodiscard]] double least_weight() const { return best_ + std::log(limits_.least_ratio); }

  /// What a set's log prior gains by its size alone when it grows to this.
  [[nodiscard]] double growth_to(std::size_t size) const {
    return size > limits_.most_parts ? 0 : mass_.log_share(size) - mass_.log_share(size - 1);
  }

  void push(PartSet parts, double log_prior, double bound) {
    waiting_.push({log_prior + bound, next_order_++, std::move(parts), log_prior, bound, 0.0});
  }

  bool told_to_stop() {
    ++asked_;
    if (limits_.progress && asked_ % told_every == 0) limits_.progress(explored());
    if (limits_.go_on && asked_ % asked_every == 0) out_.stopped = !limits_.go_on();
    return out_.stopped;
  }

  /// Tries the sets of a size that wait, the most promising first. Half of what may still be tried is left to
  /// larger sets. False when some that could matter are left.
  bool try_all(std::size_t size) {
    const auto share = [&](std::uint64_t left) { return size == limits_.most_parts ? left : (left + 1) / 2; };
    const std::uint64_t most = out_.tried + share(limits_.most_tried - out_.tried);
    const std::uint64_t worked = std::min(space_.work(), limits_.most_work);
    const std::uint64_t most_work = worked + share(limits_.most_work - worked);
    const double ratio =
        size == 1 ? std::min(limits_.least_ratio_alone, limits_.least_ratio) : limits_.least_ratio;
    while (!waiting_.empty() && waiting_.top().key > best_ + std::log(ratio)) {
      if (out_.tried >= most || space_.work() > most_work || told_to_stop()) return false;
      const Waiting next = waiting_.top();
      waiting_.pop();
      // Another view of it came first.
      if (next.parts.empty() || next.bound >= expected_.at(next.parts)) try_out(next);
    }
    return true;
  }

  void try_out(Waiting next) {
    ++out_.tried;
    tried_mass_ += mass_.of(next);
    next.log_fit = space_.log_fit(next.parts, std::max(least_weight() - next.log_prior, impossible));
    const double weight = next.log_prior + next.log_fit;
    if (weight > least_weight()) out_.sets.push_back({next.parts, next.log_fit, weight});
    best_ = std::max(best_, weight);
    // The likeliest part can make the fit perfect at best; which one could, is for extend() to say.
    next.key = next.log_prior + mass_.log_greatest() + growth_to(next.parts.size() + 1);
    tried_.push_back(std::move(next));
  }

  /// Whatever is left of the sets that were tried gives way to those that they grow to.
  bool extend_all() {
    left_behind_ += mass_of_waiting();
    waiting_ = {};
    std::vector<Waiting> tried = std::move(tried_);
    tried_.clear();
    std::stable_sort(tried.begin(), tried.end(),
                     [](const Waiting& a, const Waiting& b) { return a.key > b.key; });
    for (const Waiting& parent : tried) {
      if (parent.key <= least_weight()) break;
      if (told_to_stop()) return false;
      extend(parent);
    }
    return true;
  }

  void extend(const Waiting& parent) {
    extensions_.clear();
    space_.extensions(parent.parts, parent.log_fit, extensions_);
    for (const Extension& extension : extensions_) {
      const double log_prior =
          parent.log_prior + space_.log_odds(extension.part) + growth_to(parent.parts.size() + 1);
      if (!parent.parts.empty() && log_prior + extension.log_fit_bound <= least_weight()) continue;
      PartSet parts = parent.parts;
      parts.insert(std::upper_bound(parts.begin(), parts.end(), extension.part), extension.part);
      // The same set grows out of several; the most promising view of it counts.
      const auto [known, is_new] = expected_.try_emplace(parts, extension.log_fit_bound);
      if (!is_new && known->second >= extension.log_fit_bound) continue;
      known->second = extension.log_fit_bound;
      push(std::move(parts), log_prior, extension.log_fit_bound);
    }
  }

  [[nodiscard]] double mass_of_waiting() const {
    double left = 0;
    auto rest = waiting_;
    for (; !rest.empty() && rest.top().key > least_weight(); rest.pop()) left += mass_.behind(rest.top());
    return left;
  }

  [[nodiscard]] double explored() const {
    double left = left_behind_ + mass_of_waiting();
    for (const Waiting& each : tried_) {
      if (each.key > least_weight() && each.parts.size() < limits_.most_parts)
        left += mass_.behind_larger(each);
    }
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
  std::priority_queue<Waiting> waiting_;  ///< sets of one size
  std::vector<Waiting> tried_;            ///< those of them that were tried
  double left_behind_ = 0;                ///< prior probability of what was given up
  std::map<PartSet, double> expected_;    ///< of the sets that were ever to be tried: how well they may fit
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
