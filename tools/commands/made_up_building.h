// A made-up building of any size on a day of ordinary use, to measure with and to try things on.
#pragma once

#include <cstdint>

#include "model/people/script.h"

namespace drybus::tools {

struct BuildingSize {
  std::uint32_t plates = 1000;
  std::uint32_t modules_per_plate = 10;  ///< at most as many as the family has channels
  std::uint32_t plates_per_bus = 10;     ///< at most as many as the family has zones
};

/// Every bus is a line of its own with a site number of its own (radio families: a radio for each). Every
/// plate has its zone, its modules hold their addresses, and somebody who is in that room all day: lights on
/// in the morning, a scene now and then, dimming, off for lunch and in the evening, at times of their own.
/// Drawn with the scenario's seed; a larger building begins with the same rooms as a smaller one.
/// REQUIRES: the family's plates have buttons for on and off, and show site numbers up to 2 or more.
model::Scenario building(const model::Family& family, const BuildingSize& size, std::uint64_t seed);

}  // namespace drybus::tools
