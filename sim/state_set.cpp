#include "sim/state_set.h"

#include <cmath>
#include <stdexcept>

namespace drybus::sim {

std::span<const std::byte> KeySet::key_at(std::uint64_t slot) const {
  const std::byte* at = at_offset(slot);
  auto length = std::to_integer<std::size_t>(at[0]);
  if (length < 0x80) return {at + 1, length};
  length =
      (length & 0x7f) << 16 | std::to_integer<std::size_t>(at[1]) << 8 | std::to_integer<std::size_t>(at[2]);
  return {at + 3, length};
}

std::uint64_t KeySet::store(std::span<const std::byte> key) {
  if (key.size() > longest_key) throw std::length_error{"a state's key is too long to be kept"};
  const std::size_t needed = key.size() + 3;
  if (used_ + needed > block_bytes) {
    blocks_.push_back(std::unique_ptr<std::byte[]>{new std::byte[block_bytes]});
    used_ = 0;
  }
  const std::uint64_t offset = (blocks_.size() - 1) * block_bytes + used_;
  std::byte* at = &blocks_.back()[used_];
  if (key.size() < 0x80) {
    *at++ = static_cast<std::byte>(key.size());
  } else {
    *at++ = static_cast<std::byte>(0x80 | key.size() >> 16);
    *at++ = static_cast<std::byte>(key.size() >> 8 & 0xff);
    *at++ = static_cast<std::byte>(key.size() & 0xff);
  }
  std::copy(key.begin(), key.end(), at);
  used_ = static_cast<std::size_t>(at - blocks_.back().get()) + key.size();
  return offset;
}

bool KeySet::insert(std::uint64_t hash, std::span<const std::byte> key) {
  std::size_t at = place_among(slots_.size(), hash);
  for (; slots_[at] != empty; at = at + 1 == slots_.size() ? 0 : at + 1) {
    if (tag(slots_[at]) != tag(hash)) continue;
    const auto known = key_at(slots_[at]);
    if (known.size() == key.size() && std::memcmp(known.data(), key.data(), key.size()) == 0) return false;
  }
  slots_[at] = store(key) << (64 - offset_bits) | tag(hash);
  if (++size_ > fullest(slots_.size())) grow();
  return true;
}

void KeySet::grow() {
  std::vector<std::uint64_t> slots(grown(slots_.size()), empty);
  for (const std::uint64_t slot : slots_) {
    if (slot == empty) continue;
    std::size_t at = place_among(slots.size(), hash_bytes(key_at(slot)));
    while (slots[at] != empty) at = at + 1 == slots.size() ? 0 : at + 1;
    slots[at] = slot;
  }
  slots_ = std::move(slots);
}

void FingerprintSet::grow() {
  std::vector<std::uint64_t> slots(grown(slots_.size()), 0);
  for (const std::uint64_t hash : slots_) {
    if (hash == 0) continue;
    std::size_t at = place_among(slots.size(), hash);
    while (slots[at] != 0) at = at + 1 == slots.size() ? 0 : at + 1;
    slots[at] = hash;
  }
  slots_ = std::move(slots);
}

double omission_probability(std::uint64_t states, int bits) {
  const auto n = static_cast<double>(states);
  return std::min(1.0, std::ldexp(n * n, -(bits + 1)));
}

}  // namespace drybus::sim
