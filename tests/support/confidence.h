// How far a simulated figure may lie from theory: quantiles by Boost.Math, no tables typed in.
#pragma once

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numeric>
#include <span>
#include <vector>

namespace drybus::test {

struct Interval {
  double mean = 0;
  double half_width = 0;
  [[nodiscard]] bool holds(double value) const { return std::abs(value - mean) <= half_width; }
};

/// Of a mean over independent replications (Student), two-sided.
inline Interval mean_interval(std::span<const double> samples, double confidence) {
  const auto count = static_cast<double>(samples.size());
  const double mean = std::accumulate(samples.begin(), samples.end(), 0.0) / count;
  double squares = 0;
  for (const double sample : samples) squares += (sample - mean) * (sample - mean);
  const boost::math::students_t student(count - 1);
  const double t = boost::math::quantile(student, 0.5 + confidence / 2);
  return {mean, t * std::sqrt(squares / (count - 1) / count)};
}

/// How far a sum of `count` independent draws may lie from its mean, over `count` (normal approximation).
inline double mean_tolerance(double standard_deviation, double count, double confidence) {
  return boost::math::quantile(boost::math::normal(), 0.5 + confidence / 2) * standard_deviation /
         std::sqrt(count);
}

/// Pearson's statistic of `counts` against equal chances.
inline double chi_square_of_equal(std::span<const double> counts) {
  const double expected =
      std::accumulate(counts.begin(), counts.end(), 0.0) / static_cast<double>(counts.size());
  double sum = 0;
  for (const double count : counts) sum += (count - expected) * (count - expected) / expected;
  return sum;
}

/// Pearson's statistic stays below this with the given probability when chances are indeed equal.
inline double chi_square_limit(std::size_t categories, double confidence) {
  return boost::math::quantile(boost::math::chi_squared(static_cast<double>(categories - 1)), confidence);
}

}  // namespace drybus::test
