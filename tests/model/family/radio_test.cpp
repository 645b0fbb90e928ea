// Radio reach against ITU-R P.1238 (older form), office, N = 33.
#include "model/family/radio.h"

#include <doctest/doctest.h>

namespace {

using namespace drybus::model;

TEST_CASE("the loss over ten metres of office at 900 MHz is that of ITU-R P.1238, floor by floor") {
  // References: 64.08, 73.08, 83.08, 88.08 dB for 0 to 3 floors (recomputed from the formula).
  CHECK(indoor_loss_db(900, 10, 0) == doctest::Approx(64.08).epsilon(0.0001));
  CHECK(indoor_loss_db(900, 10, 1) == doctest::Approx(73.08).epsilon(0.0001));
  CHECK(indoor_loss_db(900, 10, 2) == doctest::Approx(83.08).epsilon(0.0001));
  CHECK(indoor_loss_db(900, 10, 3) == doctest::Approx(88.08).epsilon(0.0001));
}

TEST_CASE("more than three floors count as three, and nothing is nearer than a metre") {
  CHECK(indoor_loss_db(868, 30, 7) == indoor_loss_db(868, 30, 3));
  CHECK(indoor_loss_db(868, 0, 0) == indoor_loss_db(868, 1, 0));
}

TEST_CASE("ten times the distance costs 33 dB, ten times the frequency 20 dB") {
  CHECK(indoor_loss_db(868, 100, 0) - indoor_loss_db(868, 10, 0) == doctest::Approx(33));
  CHECK(indoor_loss_db(8680, 10, 0) - indoor_loss_db(868, 10, 0) == doctest::Approx(20));
}

TEST_CASE("the distance between spots goes through the floors") {
  CHECK(distance_m({0, 0, 0}, {3, 4, 0}) == doctest::Approx(5));
  CHECK(distance_m({0, 0, 0}, {0, 4, 1}) == doctest::Approx(5));  // 3 m a floor
  CHECK(distance_m({0, 0, 2}, {0, 4, 1}) == doctest::Approx(5));
}

TEST_CASE("a budget of 92 dB at 868 MHz ends some seventy metres away, and nearer through floors") {
  // 20 log10 868 = 58.77; 92 = 58.77 + 33 log10 d - 28 gives d = 71.7 m.
  const Spot here{0, 0, 0};
  CHECK(within_reach(868, 92, here, {71, 0, 0}));
  CHECK_FALSE(within_reach(868, 92, here, {73, 0, 0}));
  CHECK(within_reach(868, 92, here, {37, 0, 1}));  // 9 dB: 38.2 m
  CHECK_FALSE(within_reach(868, 92, here, {39, 0, 1}));
  CHECK(within_reach(868, 92, {71, 0, 0}, here));
}

}  // namespace
