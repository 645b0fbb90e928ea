// Sets of states already met, for exhaustive search: exact with states of one size, exact with keys of any length, and
// fingerprints only. All are open-addressed tables beside an arena; nothing is allocated per state.
//
// What each costs for one state, besides its own bytes (tests/sim/state_set_test.cpp):
//   StateSet        4 bytes / load, 0.57 ... 0.85
//   KeySet          8 bytes / load, and 1 or 3 for the key's length
//   FingerprintSet  8 bytes / load in all
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cstddef>
#include <cstdint>
#include <cstring>
#include <memory>
#include <span>
#include <vector>

#include "sim/digest.h"

namespace drybus::sim {

/// A place among `count` for a hash, in proportion to its upper half, so that a table may have any size.
inline std::size_t place_among(std::size_t count, std::uint64_t hash) {
  return static_cast<std::size_t>((hash >> 32) * count >> 32);
}

/// How full an open-addressed table may get before it grows by half.
constexpr std::size_t fullest(std::size_t slots) {
  return slots - slots / 7;
}
constexpr std::size_t grown(std::size_t slots) {
  return slots + slots / 2;
}
inline constexpr std::size_t fewest_slots = 1024;

/// States of `Size` bytes, each stored once, in the order in which they were first met.
/// States already stored may be read while others are being inserted.
template <std::size_t Size>
class StateSet {
 public:
  static constexpr bool holds_states = true;
  static constexpr std::size_t most = std::size_t{1} << 28;
  using Bytes = std::array<std::byte, Size>;

  StateSet() : slots_(fewest_slots, empty) { blocks_.reserve(most_blocks); }

  [[nodiscard]] std::size_t size() const { return size_; }
  [[nodiscard]] const Bytes& operator[](std::size_t index) const {
    return blocks_[index / block_states][index % block_states];
  }

  /// Asks for the memory that `insert` will look at first, and then for what it will look at next.
  void prefetch(std::uint64_t hash) const { __builtin_prefetch(&slots_[place_among(slots_.size(), hash)]); }
  void prefetch_more(std::uint64_t hash) const {
    const std::uint32_t slot = slots_[place_among(slots_.size(), hash)];
    if (slot != empty && slot >> index_bits_ == tag_of(hash))
      __builtin_prefetch(&(*this)[slot & index_mask()]);
  }

  /// True when the state was not there. REQUIRES: `key` has `Size` bytes and `hash` is its hash.
  bool insert(std::uint64_t hash, std::span<const std::byte> key) {
    std::size_t at = place_among(slots_.size(), hash);
    const std::uint32_t tag = tag_of(hash);
    for (; slots_[at] != empty; at = at + 1 == slots_.size() ? 0 : at + 1) {
      const std::uint32_t slot = slots_[at];
      if (slot >> index_bits_ == tag &&
          std::memcmp((*this)[slot & index_mask()].data(), key.data(), Size) == 0) {
        return false;
      }
    }
    slots_[at] = tag << index_bits_ | static_cast<std::uint32_t>(size_);
    store(key);
    if (size_ > fullest(slots_.size())) grow();
    return true;
  }

  [[nodiscard]] std::size_t memory_bytes() const {
    return slots_.capacity() * sizeof(std::uint32_t) + blocks_.size() * sizeof(Block) +
           blocks_.capacity() * sizeof(blocks_[0]);
  }

 private:
  static constexpr std::uint32_t empty = 0xffff'ffff;
  static constexpr std::size_t block_states = std::size_t{1} << 14;
  /// Reserved beforehand, so that readers never see the list of blocks move.
  static constexpr std::size_t most_blocks = most / block_states;
  using Block = std::array<Bytes, block_states>;

  [[nodiscard]] std::uint32_t index_mask() const { return (std::uint32_t{1} << index_bits_) - 1; }
  /// The bits of a slot that its index leaves free hold a part of the hash, so that few strangers are compared.
  [[nodiscard]] std::uint32_t tag_of(std::uint64_t hash) const {
    return static_cast<std::uint32_t>(hash) & (empty >> index_bits_);
  }

  void store(std::span<const std::byte> key) {
    assert(key.size() == Size && size_ < most);
    if (size_ % block_states == 0) blocks_.push_back(std::unique_ptr<Bytes[]>{new Bytes[block_states]});
    std::memcpy(blocks_.back()[size_ % block_states].data(), key.data(), Size);
    ++size_;
  }

  void grow() {
    const std::size_t slots = grown(slots_.size());
    slots_ = {};
    slots_.assign(slots, empty);
    // One more than the largest index, so that a slot is never all ones.
    index_bits_ = static_cast<std::uint32_t>(std::bit_width(slots));
    constexpr std::size_t ahead = 16;
    std::array<std::uint64_t, ahead> hashes{};
    for (std::size_t i = 0; i < size_ + ahead; ++i) {
      if (i >= ahead) place(hashes[i % ahead], static_cast<std::uint32_t>(i - ahead));
      if (i >= size_) continue;
      hashes[i % ahead] = hash_bytes((*this)[i]);
      prefetch(hashes[i % ahead]);
    }
  }

  void place(std::uint64_t hash, std::uint32_t index) {
    std::size_t at = place_among(slots_.size(), hash);
    while (slots_[at] != empty) at = at + 1 == slots_.size() ? 0 : at + 1;
    slots_[at] = tag_of(hash) << index_bits_ | index;
  }

  std::vector<std::uint32_t> slots_;
  std::vector<std::unique_ptr<Bytes[]>> blocks_;
  std::size_t size_ = 0;
  std::uint32_t index_bits_ = std::bit_width(fewest_slots);
};

/// Keys of any length up to `longest_key`, compared byte by byte.
class KeySet {
 public:
  static constexpr bool holds_states = false;
  static constexpr std::size_t most = std::size_t{1} << 32;

  static constexpr std::size_t longest_key = std::size_t{1} << 19;

  KeySet() : slots_(fewest_slots, empty) {}

  [[nodiscard]] std::size_t size() const { return size_; }
  void prefetch(std::uint64_t hash) const { __builtin_prefetch(&slots_[place_among(slots_.size(), hash)]); }
  void prefetch_more(std::uint64_t hash) const {
    const std::uint64_t slot = slots_[place_among(slots_.size(), hash)];
    if (slot != empty && tag(slot) == tag(hash)) __builtin_prefetch(at_offset(slot));
  }
  /// Throws std::length_error for a key that is too long.
  bool insert(std::uint64_t hash, std::span<const std::byte> key);
  [[nodiscard]] std::size_t memory_bytes() const {
    return slots_.capacity() * sizeof(std::uint64_t) + blocks_.size() * block_bytes +
           blocks_.capacity() * sizeof(blocks_[0]);
  }

 private:
  static constexpr std::uint64_t empty = ~std::uint64_t{0};
  static constexpr std::size_t block_bytes = std::size_t{1} << 20;
  static constexpr int offset_bits = 40;  ///< the rest of a slot is a part of the hash
  static constexpr std::uint64_t tag(std::uint64_t hash_or_slot) { return hash_or_slot & 0xff'ffff; }

  [[nodiscard]] const std::byte* at_offset(std::uint64_t slot) const {
    const std::uint64_t offset = slot >> 24;
    return &blocks_[offset / block_bytes][offset % block_bytes];
  }
  [[nodiscard]] std::span<const std::byte> key_at(std::uint64_t slot) const;
  std::uint64_t store(std::span<const std::byte> key);
  void grow();

  std::vector<std::uint64_t> slots_;
  std::vector<std::unique_ptr<std::byte[]>> blocks_;
  std::size_t used_ = block_bytes;  ///< of the last block
  std::size_t size_ = 0;
};

/// Only 64-bit fingerprints of keys: two states that share one are taken for the same, and what follows from the second
/// is then never looked at. `omission_probability` says how likely that is.
class FingerprintSet {
 public:
  static constexpr bool holds_states = false;
  static constexpr std::size_t most = std::size_t{1} << 32;

  FingerprintSet() : slots_(fewest_slots, 0) {}

  [[nodiscard]] std::size_t size() const { return size_; }
  void prefetch(std::uint64_t hash) const { __builtin_prefetch(&slots_[place_among(slots_.size(), hash)]); }
  void prefetch_more(std::uint64_t) const {}
  bool insert(std::uint64_t hash, std::span<const std::byte>) {
    hash += hash == 0 ? 1 : 0;
    std::size_t at = place_among(slots_.size(), hash);
    for (; slots_[at] != 0; at = at + 1 == slots_.size() ? 0 : at + 1) {
      if (slots_[at] == hash) return false;
    }
    slots_[at] = hash;
    if (++size_ > fullest(slots_.size())) grow();
    return true;
  }
  [[nodiscard]] std::size_t memory_bytes() const { return slots_.capacity() * sizeof(std::uint64_t); }

 private:
  void grow();

  std::vector<std::uint64_t> slots_;
  std::size_t size_ = 0;
};

/// The chance that any two of `states` share a fingerprint of `bits`: at most n^2 / 2^(bits + 1) (the birthday bound).
double omission_probability(std::uint64_t states, int bits = 64);

}  // namespace drybus::sim
