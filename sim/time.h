// Virtual time: whole nanoseconds since the run began. Never floating point, never the wall clock.
#pragma once

#include <chrono>
#include <cstdint>

namespace drybus::sim {

using namespace std::chrono_literals;

using Duration = std::chrono::duration<std::int64_t, std::nano>;

/// The clock of a run; it has no now(): only the world knows what time it is.
struct VirtualClock {
  using rep = Duration::rep;
  using period = Duration::period;
  using duration = Duration;
  using time_point = std::chrono::time_point<VirtualClock, Duration>;
  static constexpr bool is_steady = true;
};

using Instant = VirtualClock::time_point;

/// The start of every run.
inline constexpr Instant start_of_run{};

/// Later than anything that is ever scheduled.
inline constexpr Instant never = Instant::max();

constexpr double seconds(Duration d) {
  return static_cast<double>(d.count()) / 1e9;
}
constexpr double seconds(Instant t) {
  return seconds(t.time_since_epoch());
}

/// The time that `bits` take at `bits_per_second` (> 0), rounded up to a whole nanosecond.
constexpr Duration transmission_time(std::int64_t bits, std::int64_t bits_per_second) {
  return Duration{(bits * 1'000'000'000 + bits_per_second - 1) / bits_per_second};
}

}  // namespace drybus::sim
