// The curve and the fade tables, against printed values (reference sheet: computed from the formula; fade times and rates
// also seen in a general library that cites 62386-102).
#include "model/iec62386/levels.h"

#include <doctest/doctest.h>

#include <cmath>
#include <map>

namespace {

using namespace drybus::iec62386;
using namespace std::chrono_literals;

TEST_CASE("printed values of the curve") {
  const std::map<int, double> printed = {{1, 0.100},    {60, 0.501},   {85, 0.991},   {86, 1.018},
                                         {126, 3.035},  {127, 3.119},  {144, 4.962},  {170, 10.091},
                                         {180, 13.260}, {195, 19.971}, {210, 30.079}, {229, 50.531},
                                         {240, 68.233}, {253, 97.307}, {254, 100}};
  for (const auto& [level, light] : printed)
    CHECK(std::abs(percent(static_cast<Level>(level)) - light) < 0.0006);
  CHECK(percent(0) == 0);
}

TEST_CASE("printed fade times and rates") {
  const std::array<double, 16> times = {0,   0.707,  1.0,  1.414,  2.0,  2.828,  4.0,  5.657,
                                        8.0, 11.314, 16.0, 22.627, 32.0, 45.255, 64.0, 90.510};
  for (std::uint8_t code = 0; code < 16; ++code)
    CHECK(std::abs(drybus::sim::seconds(fade_time(code)) - times.at(code)) < 0.0006);
  const std::array<double, 15> rates = {357.8, 253.0, 178.9, 126.5, 89.4, 63.2, 44.7, 31.6,
                                        22.4,  15.8,  11.2,  7.9,   5.6,  4.0,  2.8};
  for (std::uint8_t code = 1; code < 16; ++code)
    CHECK(std::abs(1 / drybus::sim::seconds(step_time(code)) - rates.at(code - 1U)) < 0.06);
}

TEST_CASE("the longest extended fade is 16 minutes, and its shortest a tenth of a second") {
  CHECK(extended_fade_time(0x4F) == 16min);
  CHECK(extended_fade_time(0x10) == 100ms);
  CHECK(extended_fade_time(0x05) == 0s);
  CHECK(extended_fade_time(0x50) == 0s);
}

TEST_CASE("a fade is even in levels") {
  const auto begun = drybus::sim::start_of_run;
  const Motion motion{begun, 2s, 0, 200};
  CHECK(motion.at(begun) == 0);
  CHECK(motion.at(begun + 500ms) == 50);
  CHECK(motion.at(begun + 1s) == 100);
  CHECK(motion.at(begun + 3s) == 200);
  CHECK(Motion{begun, 1s, 200, 100}.at(begun + 500ms) == 150);
}

}  // namespace
