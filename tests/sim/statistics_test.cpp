// Intervals for rates, against published values.
#include "sim/statistics.h"

#include <doctest/doctest.h>

#include <cmath>

namespace {

using drybus::sim::Interval;
using drybus::sim::wilson;

/// In ten-thousandths, as far as they are printed.
long printed(double value) {
  return std::lround(value * 10'000);
}

TEST_CASE("Wilson's interval gives the textbook values at the ends and is symmetric in success and failure") {
  // With no hit in n the upper end is z^2 / (n + z^2) (Wilson 1927, formula).
  CHECK(wilson(0, 10).high == doctest::Approx(3.8416 / 13.8416));
  CHECK(wilson(0, 10).low == 0);
  CHECK(wilson(10, 10).low == doctest::Approx(1 - 3.8416 / 13.8416));
  CHECK(wilson(3, 17).low == doctest::Approx(1 - wilson(14, 17).high));
  CHECK(wilson(0, 0).high == 1);
}

TEST_CASE("Wilson's interval is that of published examples") {
  // Newcombe, Statistics in Medicine 17, 1998, Table I, method 3 (from memory; recomputed from the formula).
  const Interval many = wilson(81, 263);
  CHECK(printed(many.low) == 2553);
  CHECK(printed(many.high) == 3662);
  const Interval some = wilson(15, 148);
  CHECK(printed(some.low) == 624);
  CHECK(printed(some.high) == 1605);
  const Interval one = wilson(1, 29);
  CHECK(printed(one.low) == 61);
  CHECK(printed(one.high) == 1718);
}

}  // namespace
