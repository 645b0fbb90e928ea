// Intervals for rates, against published values.
#include "sim/statistics.h"

#include <doctest/doctest.h>

#include <cmath>

#include "sim/proportions.h"

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

TEST_CASE("the interval for a difference of rates is that of published examples") {
  // Newcombe, Statistics in Medicine 17, 1998, Table II, method 10 (from memory; recomputed from the formula).
  const Interval close = drybus::sim::difference(56, 70, 48, 80);
  CHECK(printed(close.low) == 524);
  CHECK(printed(close.high) == 3339);
  const Interval few = drybus::sim::difference(9, 10, 3, 10);
  CHECK(printed(few.low) == 1705);
  CHECK(printed(few.high) == 8090);
  const Interval all = drybus::sim::difference(10, 10, 0, 10);
  CHECK(printed(all.low) == 6075);
  CHECK(printed(all.high) == 10'000);
  CHECK(drybus::sim::difference(0, 0, 3, 10).low == -1);
}

TEST_CASE("rates are told apart when chance alone would not make the difference") {
  CHECK(drybus::sim::told_apart(56, 70, 48, 80));
  CHECK(drybus::sim::told_apart(48, 80, 56, 70));
  CHECK(!drybus::sim::told_apart(43, 400, 41, 400));
  CHECK(!drybus::sim::told_apart(5, 10, 5, 10));
  CHECK(!drybus::sim::told_apart(0, 0, 5, 10));
}

}  // namespace
