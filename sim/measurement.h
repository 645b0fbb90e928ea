// What is worth measuring next, and in which order to repair.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace drybus::sim {

/// In bits; the probabilities need not add up to one, their shares count. 0 for none.
double entropy_bits(std::span<const double> probabilities);

/// A hypothesis that does not say how a measurement will turn out.
inline constexpr std::uint32_t any_outcome = 0xffff'ffff;

/// What each hypothesis says of one measurement.
struct Forecast {
  std::span<const double> weights;  ///< of the hypotheses; their shares count
  std::span<const std::uint32_t>
      groups;  ///< the answer each belongs to; hypotheses of one group need not be told apart
  std::span<const std::uint32_t> outcomes;  ///< from 0, or any_outcome: all are equally likely
  std::uint32_t outcome_count = 0;
  double error = 0;  ///< the chance that another outcome is reported, each of them equally likely
};

/// How many bits the outcome is expected to tell about the group: the mutual information of the two.
double information_bits(const Forecast& forecast);

/// The weights after an outcome was reported, not normalised.
std::vector<double> after_outcome(const Forecast& forecast, std::uint32_t outcome);

/// The chance of an outcome being reported.
double chance_of(const Forecast& forecast, std::uint32_t outcome);

/// One thing to repair: the chance that it is the culprit, and what trying it costs (> 0).
struct Repair {
  double chance = 0;
  double cost = 1;
};

/// In which order to try, so that the expected cost until the fault is cured is least when just one of them is the
/// culprit and costs are independent: by falling chance / cost (Heckerman, Breese and Rommelse, 1995). Ties as they come.
std::vector<std::size_t> repair_order(std::span<const Repair> repairs);

/// What is expected to be spent in that order: each is paid for if none before it was the culprit.
double expected_cost(std::span<const Repair> repairs, std::span<const std::size_t> order);

}  // namespace drybus::sim
