// Frames in bi-phase code on a line that idles high and that everybody can pull low (wired AND).
//
// A 1 is low, then high; a 0 is high, then low; each half lasts one half-bit. A frame begins with a 1, the start bit,
// and its bits follow, the most significant first. What the bits mean is nobody's business here.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "sim/time.h"

namespace drybus::sim {

/// Bits without meaning: the lowest `bits` of `data`, 1 to 32 of them.
struct BitFrame {
  std::uint32_t data = 0;
  std::uint8_t bits = 0;
  friend bool operator==(const BitFrame&, const BitFrame&) = default;
};

/// How long edges may be apart for a receiver, and how long a half-bit is for a sender.
struct BiphaseTiming {
  std::int64_t bit_rate = 1200;  ///< bit/s
  Duration half_least{333'000};  ///< between two edges, taken for one half-bit
  Duration half_most{500'000};
  Duration double_least{667'000};  ///< taken for two
  Duration double_most{1'000'000};
};

/// `count` half-bits, rounded to whole nanoseconds.
constexpr Duration half_bits(const BiphaseTiming& timing, std::int64_t count) {
  return Duration{(count * 1'000'000'000 + timing.bit_rate) / (2 * timing.bit_rate)};
}

/// From a frame's first edge to the end of its last half-bit.
constexpr Duration length(const BiphaseTiming& timing, const BitFrame& frame) {
  return half_bits(timing, 2 * (std::int64_t{frame.bits} + 1));
}

/// When the line changes: falls at the first, rises at the second, and so on; an even number, as it ends high.
using Edges = std::vector<Instant>;

/// The edges of a frame whose start bit begins at `start`.
Edges edges_of(const BiphaseTiming& timing, const BitFrame& frame, Instant start);

/// What several senders make of the line: it is low while any of them pulls it low.
Edges wired_and(std::span<const Edges> senders);

/// What a receiver makes of edges: nothing, a frame, or something that is none.
struct Heard {
  enum class Kind : std::uint8_t { silence, whole, garbled };
  Kind kind = Kind::silence;
  BitFrame frame;  ///< when whole
  friend bool operator==(const Heard&, const Heard&) = default;
};

Heard decode(const BiphaseTiming& timing, std::span<const Instant> edges);

/// Senders of the same frame that begin one after the other within `spread` cannot be told apart from one. With more
/// between the first and the last of them nobody reads a frame of that length, whatever it is: the low parts are too long, or
/// there are more bits (a test goes through all answers).
constexpr Duration most_spread(const BiphaseTiming& timing) {
  return timing.half_most - half_bits(timing, 1);
}

}  // namespace drybus::sim
