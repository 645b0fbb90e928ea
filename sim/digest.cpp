#include "sim/digest.h"

// The header-only form keeps small hashes inlined.
#define XXH_INLINE_ALL
#include <xxhash.h>

#include <bit>

namespace drybus::sim {

static_assert(std::endian::native == std::endian::little, "values are hashed as they lie in memory");

namespace {
std::string hex64(std::uint64_t value) {
  static constexpr std::string_view digits = "0123456789abcdef";
  std::string text(16, '0');
  for (std::size_t i = 16; i-- > 0; value >>= 4) text[i] = digits[value & 15];
  return text;
}
}  // namespace

struct Digest::State {
  XXH3_state_t xxh;
};

Digest::Digest() : state_(std::make_unique<State>()) {
  XXH3_128bits_reset(&state_->xxh);
}
Digest::~Digest() = default;
Digest::Digest(Digest&&) noexcept = default;
Digest& Digest::operator=(Digest&&) noexcept = default;

void Digest::add_bytes(std::span<const std::byte> bytes) {
  XXH3_128bits_update(&state_->xxh, bytes.data(), bytes.size());
}

void Digest::add(std::uint64_t value) {
  add_bytes(std::as_bytes(std::span{&value, 1}));
}

std::uint64_t Digest::narrow(std::uint32_t number, unsigned shift) {
  constexpr std::uint64_t all = 0xffff;
  if (number >= all) add(number | static_cast<std::uint64_t>(shift) << 32);
  return (number & all) << shift;
}

void Digest::add(std::string_view text) {
  add(text.size());
  add_bytes(std::as_bytes(std::span{text.data(), text.size()}));
}

Fingerprint Digest::value() const {
  const XXH128_hash_t hash = XXH3_128bits_digest(&state_->xxh);
  return {hash.high64, hash.low64};
}

std::string Fingerprint::hex() const {
  return hex64(high) + hex64(low);
}

std::uint64_t hash_bytes(std::span<const std::byte> bytes, std::uint64_t seed) {
  return XXH3_64bits_withSeed(bytes.data(), bytes.size(), seed);
}

std::uint32_t stable_name(std::string_view text) {
  return XXH32(text.data(), text.size(), 0);
}

}  // namespace drybus::sim
