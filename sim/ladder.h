// The parts of the event queue that know only keys: buckets to throw them into, rungs to choose a bucket by,
// and an order to put them in.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cstddef>
#include <cstdint>
#include <numeric>
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
/// position of its last key; 0 is an empty one, since every chunk begins with its link.
class KeyPool {
 public:
  using Position = std::uint32_t;
  static constexpr std::uint32_t no_slot = 0xffff'ffff;

  /// Adds a key and returns its position, which it keeps until its bucket is emptied.
  Position append(Position& bucket, const Key& key) {
    if (bucket == 0 || (bucket + 1) % chunk_size == 0) bucket = take_chunk(bucket);
    keys_[++bucket] = key;
    return bucket;
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
    Position last = std::exchange(bucket, 0);
    while (last != 0) {
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

  [[nodiscard]] std::size_t gaps() const { return gaps_; }

  friend bool operator==(const KeyPool&, const KeyPool&) = default;

 private:
  static constexpr Position chunk_size = 32;
  static constexpr Position none = 0xffff'ffff;

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

/// A stretch of time in parts of equal width, [start, start + span), one bucket for each; those before
/// `cursor` are spent.
struct Rung {
  Instant start;
  std::uint64_t span;
  std::uint32_t shift;  ///< a part is 2^shift ns
  std::uint32_t first;  ///< bucket, among those of all rungs
  std::uint32_t cursor;

  /// Spreads the keys so that a bucket holds a few where they are dense. A few very late ones may lie beyond
  /// the rung.
  static Rung over(const std::vector<Key>& keys, std::uint32_t first_bucket);

  [[nodiscard]] std::size_t buckets() const { return ((span - 1) >> shift) + 1; }
  [[nodiscard]] Instant end_of_cursor() const {
    return ns_after(start, std::min((std::uint64_t{cursor - first} + 1) << shift, span));
  }

  /// A rung of keys that were in the front reaches back to before the cursor of a coarser one. What it leaves
  /// over belongs to that cursor's bucket, as the next to be opened.
  [[nodiscard]] bool reaches(Instant at) const { return at < start || ns_between(start, at) < span; }
  [[nodiscard]] std::uint32_t bucket_of(Instant at) const {
    if (at < start) return cursor;
    return std::max(cursor, first + static_cast<std::uint32_t>(ns_between(start, at) >> shift));
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
  const std::size_t fill = std::max<std::size_t>(8, 4 * keys.size() / most_buckets);

  const auto [least, most] = std::minmax_element(keys.begin(), keys.end(), Sooner{});
  const std::size_t parts_to_median = std::max<std::size_t>(1, keys.size() / (2 * fill));
  const std::uint64_t width = std::max<std::uint64_t>(1, typical_distance(least->at, keys) / parts_to_median);
  const auto shift = static_cast<std::uint32_t>(std::bit_width(width) - 1);
  const std::uint64_t whole = ns_between(least->at, most->at) + 1;
  const std::uint64_t most_parts = 8 * parts_to_median;
  const bool reaches_all = (whole - 1) >> shift < most_parts;
  return {.start = least->at,
          .span = reaches_all ? whole : most_parts << shift,
          .shift = shift,
          .first = first_bucket,
          .cursor = first_bucket};
}

/// Sorts by `before`, which must order by instant first. Meant for the keys of one bucket, which are near
/// each other.
template <class Before>
void sort_keys(std::vector<Key>& keys, Before&& before);

namespace detail {

/// Puts keys in order by the part of time they fall in, within a part in any order, and returns how many
/// share the fullest part (McIlroy, Bostic and McIlroy, "Engineering radix sort", Computing Systems 6(1),
/// 1993).
inline std::size_t split_by_time(std::vector<Key>& keys) {
  constexpr std::size_t parts = 256;
  constexpr int bits_of_part = 8;
  const auto [least, most] = std::minmax_element(keys.begin(), keys.end(), Sooner{});
  const Instant start = least->at;
  const int shift = std::max(0, static_cast<int>(std::bit_width(ns_between(start, most->at))) - bits_of_part);
  const auto part_of = [start, shift](const Key& key) { return ns_between(start, key.at) >> shift; };

  std::array<std::uint32_t, parts> end{};
  for (const Key& key : keys) ++end[part_of(key)];
  const std::uint32_t fullest = *std::max_element(end.begin(), end.end());
  std::partial_sum(end.begin(), end.end(), end.begin());
  std::array<std::uint32_t, parts> next{};
  std::copy(end.begin(), end.end() - 1, next.begin() + 1);

  for (std::size_t part = 0; part < parts; ++part) {
    while (next[part] != end[part]) {
      Key key = keys[next[part]];
      for (std::size_t other = part_of(key); other != part; other = part_of(key)) {
        std::swap(key, keys[next[other]++]);
      }
      keys[next[part]++] = key;
    }
  }
  return fullest;
}

template <class Before>
void insertion_sort(std::vector<Key>& keys, Before&& before) {
  for (std::size_t i = 1; i < keys.size(); ++i) {
    const Key key = keys[i];
    std::size_t hole = i;
    for (; hole > 0 && before(key, keys[hole - 1]); --hole) keys[hole] = keys[hole - 1];
    keys[hole] = key;
  }
}

}  // namespace detail

template <class Before>
void sort_keys(std::vector<Key>& keys, Before&& before) {
  constexpr std::size_t few = 24;
  // Where keys cluster after all, as all those of one instant do, a general sort takes over.
  if (keys.size() <= few || detail::split_by_time(keys) <= few) {
    detail::insertion_sort(keys, before);
  } else {
    std::sort(keys.begin(), keys.end(), before);
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
    buckets_.resize(buckets_.size() + rung.buckets(), 0);
    return rung.start;
  }

  /// Goes to the next bucket in use, leaving rungs that are spent, and returns when that bucket ends; without
  /// a rung left it is the far's, which ends never.
  Instant advance() {
    for (; !rungs_.empty(); rungs_.pop_back()) {
      Rung& rung = rungs_.back();
      while (rung.cursor < buckets_.size() && buckets_[rung.cursor] == 0) ++rung.cursor;
      if (rung.cursor < buckets_.size()) return rung.end_of_cursor();
      buckets_.resize(rung.first);
    }
    return never;
  }

  /// Empties the bucket that advance() went to; see KeyPool::empty.
  template <class Visit>
  void empty_current(Visit&& visit) {
    pool_.empty(rungs_.empty() ? far_ : buckets_[rungs_.back().cursor], visit);
  }

  friend bool operator==(const Ladder&, const Ladder&) = default;

 private:
  [[nodiscard]] Position& bucket_of(Instant at) {
    for (std::size_t i = rungs_.size(); i-- > 0;) {
      if (rungs_[i].reaches(at)) return buckets_[rungs_[i].bucket_of(at)];
    }
    return far_;
  }

  KeyPool pool_;
  std::vector<Position> buckets_;  ///< of all rungs
  std::vector<Rung> rungs_;
  Position far_ = 0;
};

}  // namespace drybus::sim
