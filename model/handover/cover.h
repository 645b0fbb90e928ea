// The cheapest set of tests that together tell everything apart: weighted set cover, with the way between places as a
// part of the price.
//
// Greedy first (Chvatal, Mathematics of Operations Research 4, 1979), then what is not needed goes; on small problems
// branch and bound finds the least, and proves it.
#pragma once

#include <cstdint>
#include <vector>

#include "model/site/site.h"

namespace drybus::model {

struct CoverTest {
  std::vector<std::uint32_t> rows;  ///< what it tells apart from the right, ascending
  sim::Duration price{};
  std::vector<PlaceId> places;  ///< that have to be visited for it
};

struct CoverProblem {
  std::size_t rows = 0;
  std::vector<CoverTest> tests;
  const Site* site = nullptr;      ///< for the walks between places
  std::optional<PlaceId> start{};  ///< nothing: wherever it suits
};

struct Cover {
  std::vector<std::uint32_t> chosen;  ///< tests, ascending
  sim::Duration price{};              ///< of the tests and the way
  bool proved = false;                ///< no other set costs less
  std::vector<std::uint32_t> open;    ///< rows that no test covers
};

Cover cheapest_cover(const CoverProblem& problem);

/// The shortest way through all of these places, and its length: exact up to 12 places, beyond them the nearest next,
/// mended by exchanges.
struct WayThrough {
  std::vector<PlaceId> places;
  sim::Duration length{};
  bool exact = true;
};
WayThrough way_through(const Site& site, const std::vector<PlaceId>& places, std::optional<PlaceId> start);

}  // namespace drybus::model
