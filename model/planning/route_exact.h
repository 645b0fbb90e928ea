// Dynamic programming over subsets for a handful of stops: the core of find_route.
#pragma once

#include <span>
#include <vector>

#include "model/planning/route.h"

namespace drybus::model {

/// A visit to begin with, and what has been spent by its end.
struct RouteSeed {
  Visit visit;
  RouteTimes::Label label;
};

/// The best route over `stops` (indices into the problem's, at most `most_exact_stops`) that begins with one
/// of the seeds, and its time; no visits when there is none. Where a plate's time-out counts from entry, the
/// time in setup counts as well as the time spent: of each subset all that no other beats in both are kept.
Route best_from(const RouteTimes& times, std::span<const std::size_t> stops,
                std::span<const RouteSeed> seeds);

/// Every way to begin with a stop from a place.
std::vector<RouteSeed> seeds_of(const RouteTimes& times, std::size_t stop, std::optional<PlaceId> from);

}  // namespace drybus::model
