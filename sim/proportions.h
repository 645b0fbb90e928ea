// Two rates compared.
#pragma once

#include "sim/statistics.h"

namespace drybus::sim {

/// An interval for the difference of two rates, `hits_a` of `runs_a` less `hits_b` of `runs_b`, from the Wilson intervals of both
/// (Newcombe, Statistics in Medicine 17, 1998, method 10). It errs towards wide where the same draws are behind both. -1 to 1.
inline Interval difference(std::uint64_t hits_a, std::uint64_t runs_a, std::uint64_t hits_b,
                           std::uint64_t runs_b, double z = 1.96) {
  if (runs_a == 0 || runs_b == 0) return {-1, 1};
  const double a = static_cast<double>(hits_a) / static_cast<double>(runs_a);
  const double b = static_cast<double>(hits_b) / static_cast<double>(runs_b);
  const Interval of_a = wilson(hits_a, runs_a, z);
  const Interval of_b = wilson(hits_b, runs_b, z);
  return {a - b - std::hypot(a - of_a.low, of_b.high - b), a - b + std::hypot(of_a.high - a, b - of_b.low)};
}

/// Whether the two rates differ by more than chance may make of one.
inline bool told_apart(std::uint64_t hits_a, std::uint64_t runs_a, std::uint64_t hits_b,
                       std::uint64_t runs_b) {
  const Interval between = difference(hits_a, runs_a, hits_b, runs_b);
  return between.low > 0 || between.high < 0;
}

}  // namespace drybus::sim
