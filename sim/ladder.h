// The parts of the event queue that know only keys: buckets to throw them into, and rungs to choose a bucket by and to
// bring its keys nearly in order.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <span>
#include <utility>
#include <vector>

#include "sim/time.h"

namespace drybus::sim {

/// An event's instant and the slot that holds the rest of it.
struct Key {
  Instant at;
  std::uint32_t slot = 0;
  friend bool operator==(const Key&, const Key&) = default;
};

/// A type, not a function, so that algorithms can inline it.
struct Sooner {
  bool operator()(const Key& a, const Key& b) const { return a.at < b.at; }
};

/// REQUIRES: `at` is not before `start`.
constexpr std::uint64_t ns_between(Instant start, Instant at) {
  return static_cast<std::uint64_t>((at - start).count());
}
constexpr Instant ns_after(Instant start, std::uint64_t ns) {
  return start + Duration{static_cast<std::int64_t>(ns)};
}

/// Unsorted buckets of keys in one vector: chunks, each linked to the one filled before it. A bucket is the
/// position of its last key, or `no_keys`.
class KeyPool {
 public:
  using Position = std::uint32_t;
  static constexpr std::uint32_t no_slot = 0xffff'ffff;
  /// As if the last chunk were full, so that the first key gets a new one.
  static constexpr Position no_keys = 0xffff'ffff;

  /// Adds a key and returns its position, which it keeps until its bucket is emptied.
  Position append(Position& bucket, const Key& key) {
    Position position = bucket + 1;
    if (position % chunk_size == 0) position = take_chunk(bucket) + 1;
    keys_[position] = key;
    bucket = position;
    return position;
  }

  /// Takes a key out of its bucket. Its place stays a gap until the bucket is emptied.
  void remove(Position position) {
    keys_[position].slot = no_slot;
    ++gaps_;
  }

  /// A key's event is due later than it was. The key stays in its bucket.
  void postpone(Position position, Instant at) { keys_[position].at = at; }

  /// Empties a bucket, with visit(key) for each of its keys, which may append to other buckets.
  template <class Visit>
  void empty(Position& bucket, Visit&& visit) {
    Position last = std::exchange(bucket, no_keys);
    while (last != no_keys) {
      const Position chunk = last - last % chunk_size;
      for (Position i = last; i != chunk; --i) {
        if (const Key key = keys_[i]; key.slot != no_slot) {
          visit(key);
        } else {
          --gaps_;
        }
      }
      last = keys_[chunk].slot;
      give_chunk(chunk);
    }
  }

  /// Calls visit(key) for each key of a bucket, in the same order.
  template <class Visit>
  void for_each(Position bucket, Visit&& visit) const {
    while (bucket != no_keys) {
      const Position chunk = bucket - bucket % chunk_size;
      const Position before = keys_[chunk].slot;
      ask_for(before);
      for (Position i = bucket; i != chunk; --i) {
        if (keys_[i].slot != no_slot) visit(keys_[i]);
      }
      bucket = before;
    }
  }

  [[nodiscard]] std::size_t gaps() const { return gaps_; }

  friend bool operator==(const KeyPool&, const KeyPool&) = default;

 private:
  static constexpr Position chunk_size = 32;
  static constexpr Position none = 0xffff'ffff;

  /// Chunks of a large pool lie anywhere. REQUIRES: the bucket is empty, or its last chunk is full.
  void ask_for(Position bucket) const {
    constexpr Position keys_in_line = 4;
    if (bucket == no_keys) return;
    for (Position i = 0; i < chunk_size; i += keys_in_line) __builtin_prefetch(&keys_[bucket - i]);
  }

  Position take_chunk(Position link) {
    Position chunk = first_free_chunk_;
    if (chunk == none) {
      chunk = static_cast<Position>(keys_.size());
      keys_.resize(keys_.size() + chunk_size);
    } else {
      first_free_chunk_ = keys_[chunk].slot;
    }
    keys_[chunk].slot = link;
    return chunk;
  }

  void give_chunk(Position chunk) {
    keys_[chunk].slot = first_free_chunk_;
    first_free_chunk_ = chunk;
  }

  std::vector<Key> keys_;  ///< the first of a chunk is its link, in `slot`
  Position first_free_chunk_ = none;
  std::uint32_t gaps_ = 0;
};

/// A stretch of time in parts of equal width, one bucket for each, from the one at `cursor` on: those before it are
/// spent.
struct Rung {
  static constexpr std::uint32_t most_cells = 256;

  // A part is 2^shift ns. It has cells of 2^cell_shift ns, which bring its keys nearly in order.
  Instant cursor_at;  ///< where the cursor's part begins
  Instant end;        ///< of the last part that has a bucket
  std::uint32_t shift;
  std::uint32_t cell_shift;
  std::uint32_t first;   ///< bucket, among those of all rungs
  std::uint32_t cursor;  ///< likewise

  /// Spreads the keys so that a bucket holds a few where they are dense. A few very late ones may lie beyond
  /// the rung.
  static Rung over(const std::vector<Key>& keys, std::uint32_t first_bucket);

  [[nodiscard]] std::size_t buckets() const { return ((ns_between(cursor_at, end) - 1) >> shift) + 1; }
  [[nodiscard]] Instant end_of_cursor() const {
    return ns_after(cursor_at, std::min(std::uint64_t{1} << shift, ns_between(cursor_at, end)));
  }
  void advance() {
    cursor_at = end_of_cursor();
    ++cursor;
  }

  /// What is due before the cursor's part, as what a finer rung leaves over can be, counts as due at its beginning.
  [[nodiscard]] std::uint64_t ns_from_cursor(Instant at) const {
    return static_cast<std::uint64_t>(std::max((at - cursor_at).count(), Duration::rep{0}));
  }
  [[nodiscard]] std::uint32_t bucket_of(Instant at) const {
    return cursor + static_cast<std::uint32_t>(ns_from_cursor(at) >> shift);
  }

  [[nodiscard]] std::uint32_t cells() const { return std::uint32_t{1} << (shift - cell_shift); }
  /// REQUIRES: `at` is before the end of the cursor's part.
  [[nodiscard]] std::uint32_t cell_of(Instant at) const {
    return static_cast<std::uint32_t>(ns_from_cursor(at) >> cell_shift);
  }

  friend bool operator==(const Rung&, const Rung&) = default;
};

/// The median distance from `start`, from a sample: unlike a mean it is not fooled by a few very late keys.
inline std::uint64_t typical_distance(Instant start, const std::vector<Key>& keys) {
  std::array<std::uint64_t, 48> sample{};
  for (std::size_t i = 0; i < sample.size(); ++i) {
    sample[i] = ns_between(start, keys[i * keys.size() / sample.size()].at);
  }
  const auto middle = sample.begin() + sample.size() / 2;
  std::nth_element(sample.begin(), middle, sample.end());
  return *middle;
}

inline Rung Rung::over(const std::vector<Key>& keys, std::uint32_t first_bucket) {
  // Few keys to a bucket, unless this makes too many buckets for the cache to write to at once.
  constexpr std::size_t most_buckets = 4'096;
  const std::size_t fill = std::max<std::size_t>(16, 4 * keys.size() / most_buckets);

  const auto [least, most] = std::minmax_element(keys.begin(), keys.end(), Sooner{});
  const std::size_t parts_to_median = std::max<std::size_t>(1, keys.size() / (2 * fill));
  const std::uint64_t width = std::max<std::uint64_t>(1, typical_distance(least->at, keys) / parts_to_median);
  const auto shift = static_cast<std::uint32_t>(std::bit_width(width) - 1);
  const std::uint64_t whole = ns_between(least->at, most->at) + 1;
  const std::uint64_t most_parts = 8 * parts_to_median;
  const auto cells_shift = static_cast<std::uint32_t>(
      std::countr_zero(std::min(most_cells, std::bit_ceil(static_cast<std::uint32_t>(2 * fill)))));
  const bool reaches_all = (whole - 1) >> shift < most_parts;
  return {.cursor_at = least->at,
          .end = ns_after(least->at, reaches_all ? whole : most_parts << shift),
          .shift = shift,
          .cell_shift = shift - std::min(shift, cells_shift),
          .first = first_bucket,
          .cursor = first_bucket};
}

/// Sorts by `before`. Meant for keys that are nearly in order.
template <class Before>
void insertion_sort(std::vector<Key>& keys, Before&& before) {
  for (std::size_t i = 1; i < keys.size(); ++i) {
    const Key key = keys[i];
    std::size_t hole = i;
    for (; hole > 0 && before(key, keys[hole - 1]); --hole) keys[hole] = keys[hole - 1];
    keys[hole] = key;
  }
}

/// What is not in the front: rungs of buckets, the coarsest first, and beyond them one bucket for the far.
class Ladder {
 public:
  using Position = KeyPool::Position;

  /// Puts a key in the bucket for its instant, in the finest rung that reaches it, and returns its position
  /// there.
  Position append(const Key& key) { return pool_.append(bucket_of(key.at), key); }
  void remove(Position position) { pool_.remove(position); }
  /// REQUIRES: `at` is not before the key's instant.
  void postpone(Position position, Instant at) { pool_.postpone(position, at); }
  [[nodiscard]] std::size_t gaps() const { return pool_.gaps(); }

  [[nodiscard]] bool has_rungs() const { return !rungs_.empty(); }

  /// Adds a rung for these keys, sooner than all that are in buckets, and returns where it begins.
  Instant add_rung(const std::vector<Key>& keys) {
    const Rung& rung = rungs_.emplace_back(Rung::over(keys, static_cast<std::uint32_t>(buckets_.size())));
    buckets_.resize(buckets_.size() + rung.buckets(), KeyPool::no_keys);
    return rung.cursor_at;
  }

  /// Goes to the next bucket in use, leaving rungs that are spent, and returns when that bucket ends; without
  /// a rung left it is the far's, which ends never.
  Instant advance() {
    for (; !rungs_.empty(); rungs_.pop_back()) {
      Rung& rung = rungs_.back();
      while (rung.cursor < buckets_.size() && buckets_[rung.cursor] == KeyPool::no_keys) rung.advance();
      if (rung.cursor < buckets_.size()) return rung.end_of_cursor();
      buckets_.resize(rung.first);
    }
    return never;
  }

  /// Empties the far's bucket; see KeyPool::empty. REQUIRES: no rungs.
  template <class Visit>
  void empty_far(Visit&& visit) {
    pool_.empty(far_, visit);
  }

  /// Empties the bucket that advance() went to. Fills `keys` with those due before `limit`, the bucket's end, by the cell
  /// they fall in, within a cell in any order (a distribution counting sort: Knuth, The Art of Computer Programming 3,
  /// 5.2), and hands the rest to later(key). Returns how many share the fullest cell. REQUIRES: there are rungs.
  template <class Later>
  std::uint32_t deal_current(Instant limit, std::vector<Key>& keys, Later&& later) {
    const Rung rung = rungs_.back();
    Position& bucket = buckets_[rung.cursor];
    std::array<std::uint32_t, Rung::most_cells> next;
    const std::span cells{next.data(), rung.cells()};
    std::fill(cells.begin(), cells.end(), 0);
    pool_.for_each(bucket, [&](const Key& key) {
      if (key.at < limit) ++cells[rung.cell_of(key.at)];
    });
    std::uint32_t fullest = 0;
    std::uint32_t count = 0;
    for (std::uint32_t& cell : cells) {
      fullest = std::max(fullest, cell);
      count += std::exchange(cell, count);
    }
    keys.resize(count);
    pool_.empty(bucket, [&](const Key& key) {
      if (key.at < limit) {
        keys[cells[rung.cell_of(key.at)]++] = key;
      } else {
        later(key);
      }
    });
    return fullest;
  }

  friend bool operator==(const Ladder&, const Ladder&) = default;

 private:
  [[nodiscard]] Position& bucket_of(Instant at) {
    for (std::size_t i = rungs_.size(); i-- > 0;) {
      if (at < rungs_[i].end) return buckets_[rungs_[i].bucket_of(at)];
    }
    return far_;
  }

  KeyPool pool_;
  std::vector<Position> buckets_;  ///< of all rungs
  std::vector<Rung> rungs_;
  Position far_ = KeyPool::no_keys;
};

}  // namespace drybus::sim
