#include "sim/measurement.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

namespace drybus::sim {

namespace {

/// The chance that a hypothesis that predicts `predicted` comes with a report of `reported`.
double chance_given(const Forecast& forecast, std::uint32_t predicted, std::uint32_t reported) {
  const double count = forecast.outcome_count;
  if (predicted == any_outcome) return 1 / count;
  if (forecast.outcome_count < 2) return 1;
  return predicted == reported ? 1 - forecast.error : forecast.error / (count - 1);
}

/// The weights of the groups, given a weight for each hypothesis.
std::vector<double> by_group(const Forecast& forecast, std::span<const double> weights) {
  std::map<std::uint32_t, double> sums;
  for (std::size_t i = 0; i < weights.size(); ++i) sums[forecast.groups[i]] += weights[i];
  std::vector<double> result;
  result.reserve(sums.size());
  for (const auto& [group, sum] : sums) result.push_back(sum);
  return result;
}

}  // namespace

double entropy_bits(std::span<const double> probabilities) {
  const double sum = std::accumulate(probabilities.begin(), probabilities.end(), 0.0);
  double bits = 0;
  for (const double each : probabilities) {
    if (each > 0) bits -= each / sum * std::log2(each / sum);
  }
  return bits;
}

std::vector<double> after_outcome(const Forecast& forecast, std::uint32_t outcome) {
  std::vector<double> weights;
  for (std::size_t i = 0; i < forecast.weights.size(); ++i) {
    weights.push_back(forecast.weights[i] * chance_given(forecast, forecast.outcomes[i], outcome));
  }
  return weights;
}

double chance_of(const Forecast& forecast, std::uint32_t outcome) {
  const std::vector<double> after = after_outcome(forecast, outcome);
  const double all = std::accumulate(forecast.weights.begin(), forecast.weights.end(), 0.0);
  return all > 0 ? std::accumulate(after.begin(), after.end(), 0.0) / all : 0;
}

double information_bits(const Forecast& forecast) {
  double bits = entropy_bits(by_group(forecast, forecast.weights));
  for (std::uint32_t outcome = 0; outcome < forecast.outcome_count; ++outcome) {
    const double chance = chance_of(forecast, outcome);
    if (chance > 0) bits -= chance * entropy_bits(by_group(forecast, after_outcome(forecast, outcome)));
  }
  return std::max(0.0, bits);
}

std::vector<std::size_t> repair_order(std::span<const Repair> repairs) {
  std::vector<std::size_t> order(repairs.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return repairs[a].chance * repairs[b].cost > repairs[b].chance * repairs[a].cost;
  });
  return order;
}

double expected_cost(std::span<const Repair> repairs, std::span<const std::size_t> order) {
  double left = 0;
  for (const Repair& repair : repairs) left += repair.chance;
  const double all = left;
  double cost = 0;
  for (const std::size_t each : order) {
    cost += repairs[each].cost * left;
    left -= repairs[each].chance;
  }
  return all > 0 ? cost / all : 0;
}

}  // namespace drybus::sim
