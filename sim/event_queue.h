// The pending events of a world: plain data in a stable order (time, then insertion), with true cancellation.
//
// A value: copies are independent and go on alike. Events are data, never closures.
//
// Shape, after the ladder queue (Tang, Goh and Thng, "Ladder queue", TOMACS 15(3), 2005):
//
//   front    the soonest events, sorted; the only part a small world ever uses
//   rungs    unsorted buckets of equal width; each further rung is finer and covers a sooner stretch of time
//   far      one unsorted bucket of everything later
//
// When the front runs out, the next bucket is sorted into it; a bucket too crowded to sort is spread over a finer rung.
// Each event is so touched a few times, in batches that fit the cache, however many are pending.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <boost/sort/pdqsort/pdqsort.hpp>
#include <cassert>
#include <cstddef>
#include <cstdint>
#include <iterator>
#include <utility>
#include <vector>

#include "sim/time.h"

namespace drybus::sim {

/// What is to happen. The meaning of `kind`, `who` and `arg` is the owner's; `cause` names the record's entry that led to it.
struct Event {
  std::uint16_t kind = 0;
  std::uint16_t who = 0;
  std::uint32_t arg = 0;
  std::uint32_t cause = 0;
  friend bool operator==(const Event&, const Event&) = default;
};

/// Invariants:
/// (1) front_[first_..] is sorted by (at, order) and holds exactly the pending events before limit_;
/// (2) it is empty only if the queue is;
/// (3) an event never lies in a later bucket than the one it belongs to, but may lie in a sooner one: an event moved to a
///     later instant stays where it is until its bucket is opened;
/// (4) `order` is unique and grows with every push and every rearm.
class EventQueue {
 public:
  /// Names one pending event; meaningless once that event has fired or been cancelled.
  using Handle = std::uint32_t;
  static constexpr Handle none = 0xffff'ffff;

  struct Fired {
    Instant at;
    Event event;
    Handle handle;
  };

  /// Adds an event. It runs after every event already pending for the same instant. REQUIRES: `at` < never.
  Handle push(Instant at, const Event& event) {
    assert(at < never);
    const Handle handle = take_slot();
    Slot& slot = slots_[handle];
    slot.at = at;
    slot.order = next_order_++;
    slot.event = event;
    ++size_;
    file(handle, at);
    settle();
    return handle;
  }

  /// Moves a pending event to another instant, in the order of a new one; may replace its cause.
  /// REQUIRES: `handle` is pending, `at` < never.
  void rearm(Handle handle, Instant at, std::uint32_t cause) {
    assert(is_pending(handle) && at < never);
    Slot& slot = slots_[handle];
    const Instant due_so_far = slot.at;
    const bool stays = slot.position == in_front ? at < limit_ : at >= due_so_far;
    if (!stays) {
      take_out(handle);
    } else if (slot.position == in_front) {
      move_in_front({due_so_far, handle}, at);
    }
    slot.at = at;
    slot.order = next_order_++;
    slot.event.cause = cause;
    if (stays) return;
    file(handle, at);
    settle();
  }

  /// Takes a pending event away, as if it had never been pushed. REQUIRES: `handle` is pending.
  void cancel(Handle handle) {
    assert(is_pending(handle));
    take_out(handle);
    give_slot(handle);
    settle();
  }

  [[nodiscard]] bool empty() const { return size_ == 0; }
  [[nodiscard]] std::size_t size() const { return size_; }

  /// When the next event is due; `never` when there is none.
  [[nodiscard]] Instant next_at() const { return size_ == 0 ? never : front_[first_].at; }

  /// When a pending event is due. REQUIRES: `handle` is pending.
  [[nodiscard]] Instant due(Handle handle) const {
    assert(is_pending(handle));
    return slots_[handle].at;
  }

  [[nodiscard]] const Event& operator[](Handle handle) const { return slots_[handle].event; }

  /// Removes and returns the earliest event. REQUIRES: not empty.
  Fired pop() {
    assert(size_ > 0);
    const Key key = front_[first_++];
    const Fired fired{key.at, slots_[key.slot].event, key.slot};
    give_slot(key.slot);
    if (first_ == front_.size()) refill();
    return fired;
  }

  /// Calls visit(at, order, event, handle) for every pending event, in no stated order.
  template <class Visit>
  void for_each(Visit&& visit) const {
    for (Handle handle = 0; handle < slots_.size(); ++handle) {
      const Slot& slot = slots_[handle];
      if (slot.at != never) visit(slot.at, slot.order, slot.event, handle);
    }
  }

  friend bool operator==(const EventQueue&, const EventQueue&) = default;

 private:
  /// Of a key in pool_; 0 is none, for a chunk begins with its link.
  using Position = std::uint32_t;
  static constexpr Position in_front = 0;
  static constexpr Position chunk_size = 32;

  /// A front of up to `small` events is cheap to insert into, and is all there is while no more are pending.
  static constexpr std::size_t small = 64;
  /// A bucket of more is spread over a finer rung instead of being sorted.
  static constexpr std::size_t crowd = 8'192;
  /// What a bucket should hold, unless this makes too many buckets for the cache to write to at once.
  static constexpr std::size_t bucket_fill = 8;
  static constexpr std::size_t most_buckets = 4'096;

  struct Slot {
    Instant at = never;  ///< `never` marks a free slot
    std::uint64_t order = 0;
    Event event;
    std::uint32_t position = 0;  ///< of its key, or in_front; of a free slot, the next free slot
    friend bool operator==(const Slot&, const Slot&) = default;
  };
  struct Key {
    Instant at;
    Handle slot;
    friend bool operator==(const Key&, const Key&) = default;
  };
  /// Buckets of 2^shift ns for [start, start + span); those before `cursor` are spent.
  struct Rung {
    Instant start;
    std::uint64_t span;
    std::uint32_t shift;
    std::uint32_t first;
    std::uint32_t cursor;
    friend bool operator==(const Rung&, const Rung&) = default;
  };

  static std::uint64_t since(Instant start, Instant at) { return static_cast<std::uint64_t>((at - start).count()); }
  static Instant after(Instant start, std::uint64_t ns) { return start + Duration{static_cast<std::int64_t>(ns)}; }
  static bool sooner(const Key& a, const Key& b) { return a.at < b.at; }

  [[nodiscard]] bool is_pending(Handle handle) const { return handle < slots_.size() && slots_[handle].at != never; }
  [[nodiscard]] bool before(const Key& a, const Key& b) const {
    return a.at != b.at ? a.at < b.at : slots_[a.slot].order < slots_[b.slot].order;
  }

  Handle take_slot() {
    if (first_free_ == none) {
      slots_.emplace_back();
      return static_cast<Handle>(slots_.size() - 1);
    }
    const Handle handle = first_free_;
    first_free_ = slots_[handle].position;
    return handle;
  }

  void give_slot(Handle handle) {
    slots_[handle].at = never;
    slots_[handle].position = first_free_;
    first_free_ = handle;
    --size_;
  }

  /// Puts an event where its instant belongs.
  void file(Handle handle, Instant at) {
    if (at < limit_) {
      insert_in_front({at, handle});
    } else {
      append(bucket_of(at), {at, handle});
    }
  }

  void take_out(Handle handle) {
    Slot& slot = slots_[handle];
    if (slot.position == in_front) {
      erase_from_front({slot.at, handle});
    } else {
      pool_[slot.position].slot = none;
      ++gaps_;
    }
  }

  /// Restores invariant (2) and keeps the front and the gaps few.
  void settle() {
    const std::size_t in_use = front_.size() - first_;
    if (in_use == 0) {
      refill();
    } else if (in_use > front_most_) {
      thin_out();
    } else if (first_ > in_use + 8) {
      drop_spent();
    }
    if (gaps_ > slots_.size() + small) close_gaps();
  }

  // --- the front ---------------------------------------------------------------------------------------------

  [[nodiscard]] auto begin_of_front() { return front_.begin() + static_cast<std::ptrdiff_t>(first_); }

  /// The first key after `at`. Halves without branching: which half it is cannot be predicted.
  [[nodiscard]] auto first_after(Instant at) {
    auto from = begin_of_front();
    std::ptrdiff_t count = front_.end() - from;
    while (count > 0) {
      const std::ptrdiff_t half = (count + 1) / 2;
      from += from[half - 1].at <= at ? half : 0;
      count -= half;
    }
    return from;
  }

  /// REQUIRES: the event is the newest, so that it follows every other of its instant.
  void insert_in_front(const Key& key) {
    slots_[key.slot].position = in_front;
    const auto where = first_after(key.at);
    if (first_ > 0 && where - begin_of_front() < front_.end() - where) {
      *std::move(begin_of_front(), where, begin_of_front() - 1) = key;
      --first_;
    } else {
      front_.insert(where, key);
    }
  }

  [[nodiscard]] auto find_in_front(const Key& key) {
    const auto first = first_after(key.at - Duration{1});
    if (first->slot == key.slot) return first;
    return std::lower_bound(first, front_.end(), key, [this](const Key& a, const Key& b) { return before(a, b); });
  }

  void erase_from_front(const Key& key) {
    const auto where = find_in_front(key);
    assert(where != front_.end() && where->slot == key.slot);
    if (where - begin_of_front() < front_.end() - where) {
      std::move_backward(begin_of_front(), where, where + 1);
      ++first_;
    } else {
      front_.erase(where);
    }
  }

  /// As erasing and inserting anew, but only what lies between the two places moves.
  void move_in_front(const Key& key, Instant at) {
    const auto from = find_in_front(key);
    const auto to = first_after(at);
    if (to > from) {
      *std::move(from + 1, to, from) = {at, key.slot};
    } else {
      std::move_backward(to, from, from + 1);
      *to = {at, key.slot};
    }
  }

  void drop_spent() {
    front_.erase(front_.begin(), begin_of_front());
    first_ = 0;
  }

  /// The front has outgrown what is cheap to insert into.
  void thin_out() {
    drop_spent();
    if (front_.front().at == front_.back().at) {
      front_most_ = 2 * front_.size();
      return;
    }
    spread_front();
    refill();
  }

  /// Makes the gathered keys the front.
  void sort_front() {
    if (front_.size() > 24) {
      boost::sort::pdqsort_branchless(front_.begin(), front_.end(), sooner);
      sort_ties();
    } else {
      insertion_sort();
    }
    for (const Key& key : front_) slots_[key.slot].position = in_front;
    // Twice what was loaded: a front of many equal instants is then not spread and reloaded over and over.
    front_most_ = std::max(small, 2 * front_.size());
  }

  void insertion_sort() {
    for (std::size_t i = 1; i < front_.size(); ++i) {
      const Key key = front_[i];
      std::size_t hole = i;
      for (; hole > 0 && before(key, front_[hole - 1]); --hole) front_[hole] = front_[hole - 1];
      front_[hole] = key;
    }
  }

  void sort_ties() {
    const auto older = [this](const Key& a, const Key& b) { return slots_[a.slot].order < slots_[b.slot].order; };
    for (auto run = front_.begin(); run != front_.end();) {
      auto end = run + 1;
      while (end != front_.end() && end->at == run->at) ++end;
      if (end - run > 1) std::sort(run, end, older);
      run = end;
    }
  }

  // --- buckets: chunks of keys, each linked to the one before --------------------------------------------------

  /// The last key of a bucket; 0 when it is empty.
  Position& last_of(std::uint32_t bucket) { return bucket == far ? far_ : buckets_[bucket]; }

  void append(std::uint32_t bucket, const Key& key) {
    Position& last = last_of(bucket);
    if ((last + 1) % chunk_size == 0 || last == 0) last = take_chunk(last);
    pool_[++last] = key;
    slots_[key.slot].position = last;
  }

  Position take_chunk(Position previous) {
    Position chunk = first_free_chunk_;
    if (chunk == none) {
      chunk = static_cast<Position>(pool_.size());
      pool_.resize(pool_.size() + chunk_size);
    } else {
      first_free_chunk_ = pool_[chunk].slot;
    }
    pool_[chunk].slot = previous;
    return chunk;
  }

  void give_chunk(Position chunk) {
    pool_[chunk].slot = first_free_chunk_;
    first_free_chunk_ = chunk;
  }

  /// The bucket for an instant that is not before limit_: in the finest rung that reaches it. A front that is spread may
  /// reach back to before a coarser rung's cursor; what its own rung leaves over goes to that cursor, the next to be opened.
  [[nodiscard]] std::uint32_t bucket_of(Instant at) const {
    for (std::size_t i = rungs_.size(); i-- > 0;) {
      const Rung& rung = rungs_[i];
      if (at < rung.start) return rung.cursor;
      const std::uint64_t offset = since(rung.start, at);
      if (offset < rung.span) {
        return std::max(rung.cursor, rung.first + static_cast<std::uint32_t>(offset >> rung.shift));
      }
    }
    return far;
  }

  /// Takes all keys of a bucket: to the front those before limit_, the others to where they belong by now.
  void gather(std::uint32_t bucket) {
    Position position = std::exchange(last_of(bucket), 0);
    while (position != 0) {
      const Position chunk = position - position % chunk_size;
      prefetch_slots(chunk, position);
      for (; position != chunk; --position) {
        const Handle handle = pool_[position].slot;
        if (handle == none) {
          --gaps_;
        } else if (const Instant at = slots_[handle].at; at < limit_) {
          front_.push_back({at, handle});
        } else {
          append(bucket_of(at), {at, handle});
        }
      }
      position = pool_[chunk].slot;
      give_chunk(chunk);
    }
  }

  /// Slots lie anywhere; asked for in one go, their misses overlap.
  void prefetch_slots(Position chunk, Position last) const {
    for (Position position = chunk + 1; position <= last; ++position) {
      const Handle handle = pool_[position].slot;
      if (handle != none) __builtin_prefetch(&slots_[handle]);
    }
  }

  /// Cancelled events leave gaps; once these outnumber the slots, all buckets are filled anew.
  void close_gaps() {
    pool_.clear();
    buckets_.clear();
    rungs_.clear();
    first_free_chunk_ = none;
    far_ = 0;
    gaps_ = 0;
    for (Handle handle = 0; handle < slots_.size(); ++handle) {
      const Slot& slot = slots_[handle];
      if (slot.at != never && slot.position != in_front) append(far, {slot.at, handle});
    }
  }

  // --- refilling ---------------------------------------------------------------------------------------------

  /// REQUIRES: the front is empty.
  void refill() {
    front_.clear();
    first_ = 0;
    while (front_.empty() && size_ > 0) {
      const std::size_t enough = rungs_.empty() ? small : crowd;
      if (rungs_.empty()) {
        limit_ = never;
        gather(far);
      } else {
        gather_next();
      }
      if (front_.size() > enough && !all_at_once()) {
        spread_front();
      } else {
        sort_front();
      }
    }
    if (size_ == 0) start_afresh();
  }

  void start_afresh() {
    pool_.clear();
    buckets_.clear();
    rungs_.clear();
    first_free_chunk_ = none;
    far_ = 0;
    gaps_ = 0;
    limit_ = never;
    front_most_ = small;
  }

  /// Gathers the next bucket of the finest rung, or leaves that rung if it is spent.
  void gather_next() {
    Rung& rung = rungs_.back();
    const auto end = static_cast<std::uint32_t>(buckets_.size());
    while (rung.cursor < end && buckets_[rung.cursor] == 0) ++rung.cursor;
    if (rung.cursor == end) {
      limit_ = after(rung.start, rung.span);
      buckets_.resize(rung.first);
      rungs_.pop_back();
      return;
    }
    const std::uint64_t reach = (std::uint64_t{rung.cursor - rung.first} + 1) << rung.shift;
    limit_ = after(rung.start, std::min(reach, rung.span));
    gather(rung.cursor);
  }

  [[nodiscard]] bool all_at_once() const {
    return std::all_of(front_.begin(), front_.end(), [&](const Key& key) { return key.at == front_[0].at; });
  }

  /// Moves the front, sorted or not, to a new rung, finer than those before. What lies beyond it goes back to those.
  void spread_front() {
    const auto [least, most] = std::minmax_element(front_.begin(), front_.end(), sooner);
    const Instant start = least->at;
    const std::size_t fill = std::max(bucket_fill, front_.size() * 4 / most_buckets);
    const std::uint64_t width = std::max<std::uint64_t>(1, typical_offset(start) / std::max<std::size_t>(1, front_.size() / (2 * fill)));
    const std::uint32_t shift = static_cast<std::uint32_t>(std::bit_width(width)) - 1;
    const std::uint64_t span = std::min(since(start, most->at) + 1, (4 * front_.size() / fill) << shift);
    const auto first = static_cast<std::uint32_t>(buckets_.size());
    rungs_.push_back({start, span, shift, first, first});
    buckets_.resize(first + ((span - 1) >> shift) + 1, 0);
    limit_ = start;
    for (const Key& key : front_) append(bucket_of(key.at), key);
    front_.clear();
  }

  /// The median distance from `start`, from a sample: unlike a mean it is not fooled by a few very late events.
  [[nodiscard]] std::uint64_t typical_offset(Instant start) const {
    std::array<std::uint64_t, 48> sample{};
    for (std::size_t i = 0; i < sample.size(); ++i) {
      sample[i] = since(start, front_[i * front_.size() / sample.size()].at);
    }
    const auto middle = sample.begin() + sample.size() / 2;
    std::nth_element(sample.begin(), middle, sample.end());
    return *middle;
  }

  static constexpr std::uint32_t far = none;

  std::vector<Slot> slots_;
  std::vector<Key> front_;
  std::vector<Key> pool_;               ///< chunks of keys, of all buckets
  std::vector<Position> buckets_;  ///< the last key of each, rung after rung
  std::vector<Rung> rungs_;             ///< the coarsest first
  Instant limit_ = never;
  std::uint64_t next_order_ = 0;
  std::uint32_t size_ = 0;
  std::uint32_t first_ = 0;
  std::size_t front_most_ = small;
  std::uint32_t gaps_ = 0;
  Handle first_free_ = none;
  Position far_ = 0;
  Position first_free_chunk_ = none;
};

}  // namespace drybus::sim
