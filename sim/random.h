// Counter-based random streams: the n-th draw of a stream is a pure function of (seed, purpose, owner, n),
// so that adding a device or a purpose never shifts what another one draws. Every draw, the real ones too, is
// the same to the last bit on every machine that keeps to IEEE 754.
//
// Generator: Philox4x32-10 (Salmon et al., "Parallel random numbers: as easy as 1, 2, 3", SC11), from the
// Random123 library; checked against its published known-answer vectors in tests/sim/random_test.cpp.
#pragma once

#include <array>
#include <cstdint>

namespace drybus::sim {

/// What a draw is for; each purpose has its own stream per owner. The numbers are part of every digest.
enum class Purpose : std::uint32_t {
  backoff = 1,
  bit_error = 2,
  collision = 3,
  arrival = 4,
  timing = 5,
  slip = 6,
  firmware = 7,
  generator = 8,
  clock = 9,
};

/// One Philox block: four words from a 128-bit counter and a 64-bit key.
std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key);

/// A stream is a plain value: copy it and both copies go on alike.
struct Stream {
  std::uint64_t seed = 0;
  Purpose purpose = Purpose::generator;
  std::uint32_t owner = 0;
  std::uint64_t drawn = 0;  ///< how many 64-bit draws have been taken

  friend bool operator==(const Stream&, const Stream&) = default;

  /// Uniform over all 64-bit values.
  std::uint64_t next();

  /// Uniform in [0, n), n >= 1, without modulo bias (rejection).
  std::uint64_t below(std::uint64_t n);

  /// True with probability `parts` / 10^9; 0 never, 10^9 always.
  bool chance_ppb(std::uint32_t parts);

  /// Uniform in (0, 1), from the upper 52 bits; never 0, never 1.
  double uniform();

  /// Exponential with the given mean (> 0).
  double exponential(double mean);

  /// Normal with mean 0 and standard deviation 1 (Marsaglia's polar method; Marsaglia and Bray, SIAM Review
  /// 6, 1964).
  double normal();

  /// Log-normal with the given median (> 0) and the standard deviation of its logarithm (0 to 3).
  double lognormal(double median, double sigma);
};

}  // namespace drybus::sim
