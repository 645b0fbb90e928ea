// Levels, light and times of fading, from 62386-102.
#pragma once

#include <cstdint>
#include <string>

#include "sim/fields.h"
#include "sim/time.h"

namespace drybus::iec62386 {

/// 0 off, 1 to 254; 255 is "no level".
using Level = std::uint8_t;
inline constexpr Level mask = 255;

/// The light at a level in percent of full: 10^((n - 1) / (253 / 3) - 1), 0 at 0 (from memory; its printed values are
/// checked). REQUIRES: not MASK.
double percent(Level level);

/// "0 %", "0.99 %", "50.5 %".
std::string percent_text(Level level);

/// How long a fade lasts by its code 0 to 15: half the root of 2^code seconds; 0 none.
sim::Duration fade_time(std::uint8_t code);

/// How long one step takes at a fade rate's code 1 to 15: 506 / root of 2^code steps a second. 0 as 1.
sim::Duration step_time(std::uint8_t code);

/// The extended fade time of a byte: (low nibble + 1) x {0, 0.1, 1, 10, 60} s by bits 6 to 4; none for other bits.
sim::Duration extended_fade_time(std::uint8_t byte);

/// A level on its way, even in steps, not in light.
struct Motion {
  sim::Instant began{};
  sim::Duration lasts{};
  Level from = 0;
  Level to = 0;
  static constexpr auto fields() {
    return std::tuple{sim::field(&Motion::began, sim::in_state), sim::field(&Motion::lasts, sim::in_state),
                      sim::field(&Motion::from, sim::in_state), sim::field(&Motion::to, sim::in_state)};
  }
  friend bool operator==(const Motion&, const Motion&) = default;
  [[nodiscard]] Level at(sim::Instant now) const;
  [[nodiscard]] bool over(sim::Instant now) const { return now >= began + lasts; }
};

}  // namespace drybus::iec62386
