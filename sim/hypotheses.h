// Which sets of things gone wrong explain what was observed: best-first enumeration by probability.
//
// A hypothesis is a set of parts that went wrong; all others are as they should be. Its weight is its prior
// (each part goes wrong independently, or so many of them at all with a given chance) times how well it fits the
// observations. Single
// parts are tried first, then pairs and so on, each in the order of the best weight that they could still
// have; what could no longer matter beside the best one found is not tried.
#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <limits>
#include <vector>

namespace drybus::sim {

using PartId = std::uint32_t;
/// In ascending order, none twice.
using PartSet = std::vector<PartId>;

inline constexpr double impossible = -std::numeric_limits<double>::infinity();

/// A part to be added to a set, and the most that the larger set is expected to fit.
struct Extension {
  PartId part = 0;
  double log_fit_bound = 0;
};

/// What may go wrong, and what came of it. Fits and odds are natural logarithms.
class HypothesisSpace {
 public:
  [[nodiscard]] virtual std::size_t part_count() const = 0;
  /// log(p / (1 - p)) of the chance p that the part went wrong.
  [[nodiscard]] virtual double log_odds(PartId part) const = 0;
  /// Log-likelihood of the observations if just these parts went wrong, at most 0; `impossible` when they
  /// cannot be. `least`: a set that fits no better is of no interest, and anything not above it may be
  /// returned then.
  [[nodiscard]] virtual double log_fit(const PartSet& set, double least) = 0;
  /// Parts that are worth adding to a set that was tried before. A larger set that fits no better than the
  /// set itself is of no interest, so that what could not mend anything need not be named. Each part is
  /// greater or less than those of the set, never one of them.
  virtual void extensions(const PartSet& set, double log_fit, std::vector<Extension>& into) = 0;
  /// What all that was tried took so far, in units of its own; ExploreLimits::most_work bounds it.
  [[nodiscard]] virtual std::uint64_t work() const { return 0; }

 protected:
  ~HypothesisSpace() = default;
};

struct WeighedSet {
  PartSet parts;
  double log_fit = 0;
  double log_weight = 0;  ///< log prior + log fit
};

struct ExploreLimits {
  std::size_t most_parts = 3;
  std::size_t most_tried = 10'000;              ///< at each size, at most half of what is left of these
  std::uint64_t most_work = ~std::uint64_t{0};  ///< likewise of HypothesisSpace::work()
  double least_ratio = 1e-3;                    ///< against the best weight
  /// The same for single parts: smaller, those are tried whose worth is what they add to others.
  double least_ratio_alone = 1e-3;
  /// The chances that just so many parts went wrong, from none to most_parts, all of them over 0; which ones then goes by
  /// their odds. Empty: each part goes wrong independently, and weights are against that of none.
  std::vector<double> chance_of_size{};
  std::function<bool()> go_on;                    ///< asked now and then; false stops. May be empty
  std::function<void(double explored)> progress;  ///< told more rarely. May be empty
};

struct Exploration {
  std::vector<WeighedSet> sets;  ///< those within `least_ratio` of the best; the heaviest first
  double explored = 0;  ///< share of the prior probability of all sets that was tried or can be left out
  std::size_t tried = 0;
  bool complete = false;  ///< nothing that is left could matter
  bool stopped = false;
};

Exploration explore(HypothesisSpace& space, const ExploreLimits& limits);

/// The sets that hold no other one of them.
std::vector<PartSet> minimal_sets(std::vector<PartSet> sets);

/// log(p / (1 - p)). REQUIRES: 0 < p < 1.
double log_odds_of(double chance);

}  // namespace drybus::sim
