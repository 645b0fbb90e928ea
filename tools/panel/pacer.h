// How real time maps to the run's: from an anchor on, so many times as fast. Knows no clock; it is told what
// time it is.
#pragma once

#include <chrono>

#include "sim/time.h"

namespace drybus::tools {

/// Real time since some fixed moment, by a clock that never goes back.
using RealTime = std::chrono::nanoseconds;

inline constexpr double least_speed = 0.1;
inline constexpr double most_speed = 10'000.0;

class Pacer {
 public:
  /// The run stands at `now` as it is `real`, and goes on from there `speed` times as fast.
  void start(RealTime real, sim::Instant now, double speed) {
    real_ = real;
    now_ = now;
    speed_ = speed;
  }

  [[nodiscard]] double speed() const { return speed_; }

  /// Where the run should stand at a real time not before the anchor's.
  [[nodiscard]] sim::Instant target(RealTime real) const {
    return now_ +
           sim::Duration{static_cast<std::int64_t>(static_cast<double>((real - real_).count()) * speed_)};
  }

  /// In how much real time an instant of the run comes, from `real` on; none for what is over.
  [[nodiscard]] RealTime until(sim::Instant at, RealTime real) const {
    if (at <= target(real)) return RealTime::zero();
    // At the slowest, what is further off than ten years would not fit; nobody waits for it.
    const double left = static_cast<double>((at - target(real)).count()) / speed_;
    return RealTime{left < 3e17 ? static_cast<std::int64_t>(left) + 1
                                : std::int64_t{300'000'000'000'000'000}};
  }

 private:
  RealTime real_{};
  sim::Instant now_ = sim::start_of_run;
  double speed_ = 1.0;
};

}  // namespace drybus::tools
