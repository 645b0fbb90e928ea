// Intervals for rates.
#pragma once

#include <cmath>
#include <cstdint>

namespace drybus::sim {

struct Interval {
  double low = 0;
  double high = 1;
};

/// Wilson's score interval for `hits` out of `runs` (Wilson, Journal of the American Statistical Association 22,
/// 1927); z = 1.96 gives 95 %. Without runs it is 0 to 1.
inline Interval wilson(std::uint64_t hits, std::uint64_t runs, double z = 1.96) {
  if (runs == 0) return {};
  const auto n = static_cast<double>(runs);
  const double p = static_cast<double>(hits) / n;
  const double centre = p + z * z / (2 * n);
  const double half = z * std::sqrt(p * (1 - p) / n + z * z / (4 * n * n));
  const double scale = 1 + z * z / n;
  return {std::fmax(0, (centre - half) / scale), std::fmin(1, (centre + half) / scale)};
}

}  // namespace drybus::sim
