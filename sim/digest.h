// The fingerprint of a run: XXH3 (128 bit) over values written in one fixed byte order, so that it is the
// same on every machine, compiler and optimisation level.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace drybus::sim {

/// 128 bits; equal digests are taken for equal runs (chance of a false match 2^-128 each).
struct Fingerprint {
  std::uint64_t high = 0;
  std::uint64_t low = 0;
  friend auto operator<=>(const Fingerprint&, const Fingerprint&) = default;

  /// 32 lower-case hexadecimal digits.
  [[nodiscard]] std::string hex() const;
};

/// Collects values in order; each is written little-endian.
class Digest {
 public:
  Digest();
  ~Digest();
  Digest(Digest&&) noexcept;
  Digest& operator=(Digest&&) noexcept;

  void add_bytes(std::span<const std::byte> bytes);
  void add(std::uint64_t value);
  void add(std::string_view text);
  /// The lower 16 bits of a number, `shift` bits up, to be packed with others into one word. A number that needs more, or
  /// all of them, is added whole before, with its place: numbers may be wide, and where all are small the digest is what it
  /// was when they had to be.
  [[nodiscard]] std::uint64_t narrow(std::uint32_t number, unsigned shift = 0);
  [[nodiscard]] Fingerprint value() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// A fast 64-bit hash of memory, for tables; not for anything that is shown or stored.
std::uint64_t hash_bytes(std::span<const std::byte> bytes, std::uint64_t seed = 0);

/// A 32-bit name for a text, stable for ever: it keys a device's random streams.
std::uint32_t stable_name(std::string_view text);

}  // namespace drybus::sim
