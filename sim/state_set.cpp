#include "sim/state_set.h"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace drybus::sim {

namespace {

bool is_same(std::span<const std::byte> a, std::span<const std::byte> b) {
  return std::equal(a.begin(), a.end(), b.begin(), b.end());
}

}  // namespace

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

bool KeySet::add(std::uint64_t hash, std::span<const std::byte> key) {
  std::size_t at = place_among(slots_.size(), hash);
  for (; slots_[at] != empty; at = at + 1 == slots_.size() ? 0 : at + 1) {
    if (tag(slots_[at]) != tag(hash)) continue;
    if (is_same(key_at(slots_[at]), key)) return false;
  }
  slots_[at] = store(key) << (64 - offset_bits) | tag(hash);
  return true;
}

// --- keys in parts ---

namespace {

/// Seven bits a byte; all but the last have the eighth.
void put_number(std::vector<std::byte>& row, std::uint32_t number) {
  for (; number >= 0x80; number >>= 7) row.push_back(static_cast<std::byte>(0x80 | (number & 0x7f)));
  row.push_back(static_cast<std::byte>(number));
}

}  // namespace

/// Where a part is, or is to be.
std::size_t PartTable::slot_for(std::uint64_t hash, std::span<const std::byte> part) const {
  std::size_t at = place_among(slots_.size(), hash);
  for (; slots_[at].number != none; at = at + 1 == slots_.size() ? 0 : at + 1) {
    if (slots_[at].tag != static_cast<std::uint32_t>(hash)) continue;
    if (is_same(this->part(slots_[at].number), part)) break;
  }
  return at;
}

std::uint32_t PartTable::number_of(std::span<const std::byte> part) {
  if (last_ != none && is_same(this->part(last_), part)) return last_;
  const std::uint64_t hash = hash_bytes(part);
  const std::size_t at = slot_for(hash, part);
  if (slots_[at].number != none) return last_ = slots_[at].number;
  const auto number = static_cast<std::uint32_t>(begins_.size() - 1);
  slots_[at] = {number, static_cast<std::uint32_t>(hash)};
  bytes_.insert(bytes_.end(), part.begin(), part.end());
  begins_.push_back(bytes_.size());
  if (begins_.size() > fullest(slots_.size())) grow();
  return last_ = number;
}

void PartTable::grow() {
  slots_.assign(grown(slots_.size()), {});
  for (std::uint32_t number = 0; number + 1 < begins_.size(); ++number) {
    const auto known = part(number);
    const std::uint64_t hash = hash_bytes(known);
    slots_[slot_for(hash, known)] = {number, static_cast<std::uint32_t>(hash)};
  }
}

bool PartedKeySet::insert(std::uint64_t hash, std::span<const std::byte> key) {
  row_.assign(1, static_cast<std::byte>(hash >> 56));
  for (std::size_t place = 0; !key.empty(); ++place) {
    const std::size_t table = std::min(place, most_tables - 1);
    if (table == tables_.size()) tables_.emplace_back();
    put_number(row_, tables_[table].number_of(take_part(key)));
  }
  const auto upper_half = [](std::span<const std::byte> row, std::uint64_t low) {
    return std::to_integer<std::uint64_t>(row.front()) << 56 | low << 32;
  };
  return rows_.insert(with_upper_twice(hash), row_, upper_half);
}

std::size_t PartedKeySet::memory_bytes() const {
  std::size_t sum = rows_.memory_bytes();
  for (const PartTable& table : tables_) sum += table.memory_bytes();
  return sum;
}

// --- fingerprints ---

/// By a quarter: what a state costs is what this set is for.
void FingerprintSet::grow() {
  const std::vector<std::byte> before = std::move(slots_);
  const std::size_t count = count_;
  count_ += count_ / 4;
  slots_.assign(count_ * slot_bytes + spare, std::byte{0});
  for (std::size_t slot = 0; slot < count; ++slot) {
    std::uint64_t word = 0;
    std::memcpy(&word, &before[slot * slot_bytes], sizeof word);
    const std::uint64_t print = word & (~std::uint64_t{0} >> (64 - bits));
    if (print != 0) put(print << (64 - bits));
  }
}

double omission_probability(std::uint64_t states, int bits) {
  const auto n = static_cast<double>(states);
  return std::min(1.0, std::ldexp(n * n, -(bits + 1)));
}

}  // namespace drybus::sim
