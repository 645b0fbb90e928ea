// Numbers that grow by the same amount from turn to turn of a main loop, and for how many turns what is said of them stays true.
#pragma once

#include <algorithm>
#include <cstdint>
#include <limits>

namespace drybus::tools {

/// Holds any number of 64 bits, with a sign or without, and their differences.
__extension__ using Wide = __int128;

constexpr std::uint64_t low_bits(std::uint64_t value, unsigned bits) {
  return bits >= 64 ? value : value & ((std::uint64_t{1} << bits) - 1);
}

/// The number with this remainder modulo 2^bits that is closest to 0.
constexpr std::int64_t with_sign(std::uint64_t value, unsigned bits) {
  const unsigned left = 64 - std::min(bits, 64u);
  return static_cast<std::int64_t>(value << left) >> left;
}

/// `value + turn * slope`, modulo 2^bits. Both as in the turn that is looked at, which is turn 0.
struct Growing {
  std::uint64_t value = 0;  ///< below 2^bits
  std::int64_t slope = 0;   ///< from -2^(bits - 1) to 2^(bits - 1) - 1
  unsigned bits = 64;       ///< 1 to 64

  Growing() = default;
  Growing(std::uint64_t some_value, std::uint64_t some_slope, unsigned some_bits)
      : value(low_bits(some_value, some_bits)), slope(with_sign(some_slope, some_bits)), bits(some_bits) {}

  [[nodiscard]] bool stays() const { return slope == 0; }
  [[nodiscard]] std::uint64_t steps() const { return static_cast<std::uint64_t>(slope); }
  [[nodiscard]] Growing low(unsigned some_bits) const { return {value, steps(), some_bits}; }
};

/// For how many turns, from turn 0 on, all that was asked of it stays true.
class TurnsAlike {
 public:
  [[nodiscard]] std::uint64_t count() const { return count_; }
  void at_most(std::uint64_t turns) { count_ = std::min(count_, turns); }

  /// `value + turn * slope` stays from `least` on, and below `end`. REQUIRES: so it is in turn 0.
  void stays_within(Wide value, Wide slope, Wide least, Wide end) {
    if (slope == 0) return;
    // The first turn in which it is not.
    const Wide turn = slope > 0 ? (end - value + slope - 1) / slope : (value - least) / -slope + 1;
    if (turn <= std::numeric_limits<std::int64_t>::max()) at_most(static_cast<std::uint64_t>(turn));
  }

  /// It does not wrap as a number without a sign, or with one.
  void stays_unsigned(const Growing& x) { stays_within(x.value, x.slope, 0, Wide{1} << x.bits); }
  void stays_signed(const Growing& x) {
    const Wide half = Wide{1} << (x.bits - 1);
    stays_within(with_sign(x.value, x.bits), x.slope, -half, half);
  }
  void keeps_sign(const Growing& x) {
    const Wide half = Wide{1} << (x.bits - 1);
    const Wide value = with_sign(x.value, x.bits);
    value < 0 ? stays_within(value, x.slope, -half, 0) : stays_within(value, x.slope, 0, half);
  }
  /// Its bits from this one on stay as they are.
  void keeps_bits_from(const Growing& x, unsigned bit) {
    if (bit >= x.bits) return stays_unsigned(x);
    const Wide least = static_cast<Wide>(x.value >> bit) << bit;
    stays_within(x.value, x.slope, least, least + (Wide{1} << bit));
  }
  /// It stays 0, or does not become 0.
  void stays_zero_or_not(const Growing& x) {
    const Wide value = x.value;
    value == 0 ? stays_within(0, x.slope, 0, 1) : stays_within(value, x.slope, 1, Wide{1} << x.bits);
  }
  /// `difference + turn * slope` stays below 0, or does not come below 0.
  void keeps_order(Wide difference, Wide slope) {
    constexpr Wide furthest = Wide{1} << 100;
    difference < 0 ? stays_within(difference, slope, -furthest, 0)
                   : stays_within(difference, slope, 0, furthest);
  }

 private:
  std::uint64_t count_ = std::numeric_limits<std::uint64_t>::max();
};

}  // namespace drybus::tools
