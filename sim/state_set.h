// Sets of states already met, for exhaustive search: exact with states of one size, exact with keys of any length, exact with
// keys in parts, and fingerprints only. All are open-addressed tables beside an arena; nothing is allocated per state.
//
// What each costs for one state, besides its own bytes (tests/sim/state_set_test.cpp):
//   StateSet        4 bytes / load, 0.57 ... 0.85
//   KeySet          8 bytes / load, and 1 or 3 for the key's length
//   PartedKeySet    8 bytes / load, 2, and 1 to 4 for each part, however long it is; each different part once
//   FingerprintSet  7 bytes / load in all, 0.68 ... 0.85
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
#include "sim/key_parts.h"

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
  bool insert(std::uint64_t hash, std::span<const std::byte> key) {
    return insert(hash, key,
                  [](std::span<const std::byte> known, std::uint64_t) { return hash_bytes(known); });
  }
  /// hash_of(key, low) says again what hash a key was inserted with, at least its upper half; `low` are its lowest 24 bits.
  template <class HashOf>
  bool insert(std::uint64_t hash, std::span<const std::byte> key, const HashOf& hash_of) {
    if (!add(hash, key)) return false;
    if (++size_ > fullest(slots_.size())) grow(hash_of);
    return true;
  }
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
  bool add(std::uint64_t hash, std::span<const std::byte> key);

  template <class HashOf>
  void grow(const HashOf& hash_of) {
    std::vector<std::uint64_t> slots(grown(slots_.size()), empty);
    for (const std::uint64_t slot : slots_) {
      if (slot == empty) continue;
      std::size_t at = place_among(slots.size(), hash_of(key_at(slot), tag(slot)));
      while (slots[at] != empty) at = at + 1 == slots.size() ? 0 : at + 1;
      slots[at] = slot;
    }
    slots_ = std::move(slots);
  }

  std::vector<std::uint64_t> slots_;
  std::vector<std::unique_ptr<std::byte[]>> blocks_;
  std::size_t used_ = block_bytes;  ///< of the last block
  std::size_t size_ = 0;
};

/// The different parts that stand at one place of keys, numbered as they were first met.
class PartTable {
 public:
  PartTable() : slots_(fewest_slots) {}

  std::uint32_t number_of(std::span<const std::byte> part);
  [[nodiscard]] std::size_t memory_bytes() const {
    return slots_.capacity() * sizeof(Slot) + begins_.capacity() * sizeof(std::uint64_t) + bytes_.capacity();
  }

 private:
  struct Slot {
    std::uint32_t number = none;
    std::uint32_t tag = 0;  ///< a part of the hash
  };
  static constexpr std::uint32_t none = 0xffff'ffff;
  static constexpr std::size_t fewest_slots = 64;

  [[nodiscard]] std::span<const std::byte> part(std::uint32_t number) const {
    return std::span{bytes_}.subspan(begins_[number], begins_[number + 1] - begins_[number]);
  }
  [[nodiscard]] std::size_t slot_for(std::uint64_t hash, std::span<const std::byte> part) const;
  void grow();

  std::vector<Slot> slots_;
  std::uint32_t last_ = none;                ///< one move seldom changes more than one device
  std::vector<std::uint64_t> begins_ = {0};  ///< in `bytes_`, and where the last one ends
  std::vector<std::byte> bytes_;
};

/// Keys in parts (add_part), compared byte by byte. What is stored of a key is which parts it has: a device is in few
/// situations beside the many that all devices together are in (collapse compression: G. J. Holzmann, "State compression in
/// SPIN", 1997, from memory).
class PartedKeySet {
 public:
  static constexpr bool holds_states = false;
  static constexpr std::size_t most = KeySet::most;

  [[nodiscard]] std::size_t size() const { return rows_.size(); }
  void prefetch(std::uint64_t hash) const { rows_.prefetch(hash); }
  void prefetch_more(std::uint64_t hash) const { rows_.prefetch_more(with_upper_twice(hash)); }
  bool insert(std::uint64_t hash, std::span<const std::byte> key);
  [[nodiscard]] std::size_t memory_bytes() const;

 private:
  /// What comes after so many parts has the last table in common.
  static constexpr std::size_t most_tables = 64;

  /// The lowest bits give way to some of the upper half: with these and its first byte a row says where it belongs, without
  /// its parts being looked up.
  static std::uint64_t with_upper_twice(std::uint64_t hash) {
    return (hash & ~std::uint64_t{0xff'ffff}) | (hash >> 32 & 0xff'ffff);
  }

  std::vector<PartTable> tables_;  ///< by place
  KeySet rows_;  ///< of each key the uppermost byte of its hash and the numbers of its parts
  std::vector<std::byte> row_;
};

/// Only 56-bit fingerprints of keys: two states that share one are taken for the same, and what follows from the second
/// is then never looked at. `omission_probability` says how likely that is.
class FingerprintSet {
 public:
  static constexpr bool holds_states = false;
  static constexpr std::size_t most = std::size_t{1} << 32;
  static constexpr int bits = 56;

  FingerprintSet() : slots_(fewest_slots * slot_bytes + spare), count_(fewest_slots) {}

  [[nodiscard]] std::size_t size() const { return size_; }
  void prefetch(std::uint64_t hash) const {
    __builtin_prefetch(&slots_[place_among(count_, hash) * slot_bytes]);
  }
  void prefetch_more(std::uint64_t) const {}
  bool insert(std::uint64_t hash, std::span<const std::byte>) {
    if (!put(hash)) return false;
    if (++size_ > fullest(count_)) grow();
    return true;
  }
  [[nodiscard]] std::size_t memory_bytes() const { return slots_.capacity(); }

 private:
  static constexpr std::size_t slot_bytes = bits / 8;
  static constexpr std::size_t spare = 8 - slot_bytes;  ///< behind the last slot: words are read whole

  /// The upper bits of a hash, none of them 0: they say where it belongs as well.
  static std::uint64_t print_of(std::uint64_t hash) {
    return std::max<std::uint64_t>(1, hash >> (64 - bits));
  }
  [[nodiscard]] std::uint64_t at(std::size_t slot) const {
    std::uint64_t word = 0;
    std::memcpy(&word, &slots_[slot * slot_bytes], sizeof word);
    return word & (~std::uint64_t{0} >> (64 - bits));
  }
  bool put(std::uint64_t hash) {
    const std::uint64_t print = print_of(hash);
    std::size_t slot = place_among(count_, hash);
    for (; at(slot) != 0; slot = slot + 1 == count_ ? 0 : slot + 1) {
      if (at(slot) == print) return false;
    }
    std::memcpy(&slots_[slot * slot_bytes], &print, slot_bytes);
    return true;
  }
  void grow();

  std::vector<std::byte> slots_;
  std::size_t count_;
  std::size_t size_ = 0;
};
static_assert(std::endian::native == std::endian::little, "a fingerprint is the low bytes of a word");

/// The chance that any two of `states` share a fingerprint of `bits`: at most n^2 / 2^(bits + 1) (the birthday bound).
double omission_probability(std::uint64_t states, int bits = FingerprintSet::bits);

}  // namespace drybus::sim
