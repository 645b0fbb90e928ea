// Clocks that are not quite right. Two devices that begin something together and repeat it by themselves do not stay in
// step for ever: each goes by a clock of its own, which is a little too fast or too slow, always by the same part.
//
// That part is drawn from the seed for each owner, evenly over what a clock may be off by, so that it is nobody's state: the
// same in every world of a run.
#pragma once

#include <cstdint>

#include "sim/random.h"
#include "sim/time.h"

namespace drybus::sim {

/// What quartz clocks are off by at most, in parts of 10^9. 50 ppm is a common grade of crystals: common practice, no source;
/// IEEE 802.15.4 asks 40 ppm of its radios' clocks.
inline constexpr std::uint32_t quartz_tolerance_ppb = 50'000;

/// The most that a clock may be off by: one part in a thousand.
inline constexpr std::uint32_t most_clock_tolerance_ppb = 1'000'000;

/// By how many parts of 10^9 the owner's clock is slow: -tolerance to +tolerance. REQUIRES: tolerance_ppb <=
/// most_clock_tolerance_ppb.
inline std::int64_t clock_drift_ppb(std::uint64_t seed, std::uint32_t owner, std::uint32_t tolerance_ppb) {
  if (tolerance_ppb == 0) return 0;
  Stream stream{seed, Purpose::clock, owner, 0};
  return static_cast<std::int64_t>(stream.below(std::uint64_t{2} * tolerance_ppb + 1)) - tolerance_ppb;
}

/// How long it really takes until such a clock has counted `counted`; what is left over of whole milliseconds is counted
/// right.
constexpr Duration really_takes(Duration counted, std::int64_t slow_by_ppb) {
  return counted + Duration{counted.count() / 1'000'000 * slow_by_ppb / 1'000};
}

}  // namespace drybus::sim
