// The pending events of a world: plain data in a stable order (time, then insertion), with true cancellation.
//
// A value: copies are independent and go on alike. Events are data, never closures.
//
// Shape, after the ladder queue (Tang, Goh and Thng, ACM TOMACS 15(3), 2005):
//
//   front    the soonest events, sorted; all there is while few are pending
//   rungs    unsorted buckets, each for an equal part of time; each further rung is finer and covers a sooner stretch
//   far      one unsorted bucket of everything later
//
// When the front runs out, the next bucket is sorted into it; a bucket too full for that is first spread over
// a finer rung. So an event is touched a few times, in batches that fit the cache, however many are pending.
#pragma once

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

#include "sim/ladder.h"
#include "sim/time.h"

namespace drybus::sim {

/// What is to happen. The meaning of `kind`, `arg` and `who` is the owner's; `cause` names the record's entry
/// that led to it.
struct Event {
  std::uint16_t kind = 0;
  std::uint16_t arg = 0;
  std::uint32_t who = 0;
  std::uint32_t cause = 0;
  friend bool operator==(const Event&, const Event&) = default;
};

/// Invariants:
/// (1) front_[first_..] is sorted by (at, order) and holds exactly the pending events before limit_;
/// (2) it is empty only if the queue is;
/// (3) an event never lies in a later bucket than the one it belongs to, but may lie in a sooner one: an event moved
///     to a later instant stays where it is until its bucket is opened;
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
    file(handle, at);
    return handle;
  }

  /// Moves a pending event to another instant, in the order of a new one; may replace its cause.
  /// REQUIRES: `handle` is pending, `at` < never.
  void rearm(Handle handle, Instant at, std::uint32_t cause) {
    assert(is_pending(handle) && at < never);
    Slot& slot = slots_[handle];
    const Instant due_so_far = slot.at;
    const bool in_front = due_so_far < limit_;
    const bool stays = in_front ? at < limit_ : at >= due_so_far;
    if (!stays) {
      take_out(handle);
    } else if (in_front) {
      move_in_front({due_so_far, handle}, at);
    } else {
      ladder_->postpone(slot.position, at);
    }
    slot.at = at;
    slot.order = next_order_++;
    slot.event.cause = cause;
    if (stays) return;
    file(handle, at);
    if (first_ == front_.size()) refill();
    close_many_gaps();
  }

  /// Takes a pending event away, as if it had never been pushed. REQUIRES: `handle` is pending.
  void cancel(Handle handle) {
    assert(is_pending(handle));
    take_out(handle);
    give_slot(handle);
    if (first_ == front_.size()) refill();
    close_many_gaps();
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
    // The slots of the next ones lie anywhere.
    if (first_ + foreseen < front_.size()) __builtin_prefetch(&slots_[front_[first_ + foreseen].slot], 1);
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
  using Position = KeyPool::Position;
  /// How many events ahead a slot is asked for.
  static constexpr std::size_t foreseen = 8;

  /// A front of up to so many is cheap to insert into.
  static constexpr std::size_t small = 64;
  /// So many in any order, or at a time in keys that are otherwise in order, are soonest sorted by insertion.
  static constexpr std::size_t few = 24;
  /// So many more spent keys than pending ones may lie in the front.
  static constexpr std::size_t most_spent = 16;
  /// A bucket of more is spread over a finer rung.
  static constexpr std::size_t crowd = 8'192;

  struct Slot {
    Instant at = never;  ///< `never` marks a free slot
    std::uint64_t order = 0;
    Event event;
    std::uint32_t position =
        0;  ///< of its key in the pool, if not in front; of a free slot, the next free slot
    friend bool operator==(const Slot&, const Slot&) = default;
  };

  [[nodiscard]] bool is_pending(Handle handle) const {
    return handle < slots_.size() && slots_[handle].at != never;
  }

  Handle take_slot() {
    ++size_;
    if (first_free_ == none) {
      slots_.emplace_back();
      return static_cast<Handle>(slots_.size() - 1);
    }
    const Handle handle = first_free_;
    first_free_ = slots_[handle].position;
    return handle;
  }

  void give_slot(Handle handle) {
    --size_;
    slots_[handle].at = never;
    slots_[handle].position = first_free_;
    first_free_ = handle;
  }

  /// Puts an event where its instant belongs.
  void file(Handle handle, Instant at) {
    if (at < limit_) {
      insert_in_front({at, handle});
      keep_front_short();
    } else {
      put_on_ladder({at, handle});
    }
  }

  void take_out(Handle handle) {
    const Slot& slot = slots_[handle];
    if (slot.at < limit_) {
      erase_from_front({slot.at, handle});
    } else {
      ladder_->remove(slot.position);
    }
  }

  // --- the front ---

  [[nodiscard]] auto begin_of_front() { return front_.begin() + static_cast<std::ptrdiff_t>(first_); }

  [[nodiscard]] auto before() const {
    return [this](const Key& a, const Key& b) {
      return a.at != b.at ? a.at < b.at : slots_[a.slot].order < slots_[b.slot].order;
    };
  }

  /// The first key after `at`. The halves can seldom be predicted, so they are chosen without much of a
  /// branch.
  [[nodiscard]] auto first_after(Instant at) {
    auto from = begin_of_front();
    std::ptrdiff_t count = front_.end() - from;
    if (count > 0 && front_.back().at <= at) return front_.end();
    while (count > 0) {
      const std::ptrdiff_t half = (count + 1) / 2;
      from += from[half - 1].at <= at ? half : 0;
      count -= half;
    }
    return from;
  }

  [[nodiscard]] auto find_in_front(const Key& key) {
    const auto first = first_after(key.at - Duration{1});
    if (first->slot == key.slot) return first;
    return std::lower_bound(first, front_.end(), key, before());
  }

  /// REQUIRES: the event is the newest, so that it follows every other of its instant.
  void insert_in_front(const Key& key) {
    const auto where = first_after(key.at);
    if (first_ > 0 && where - begin_of_front() < front_.end() - where) {
      *std::move(begin_of_front(), where, begin_of_front() - 1) = key;
      --first_;
    } else {
      front_.insert(where, key);
    }
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

  void keep_front_short() {
    const std::size_t in_use = front_.size() - first_;
    if (in_use > front_most_) {
      thin_out();
    } else if (first_ > in_use + most_spent) {
      drop_spent();
    }
  }

  void drop_spent() {
    front_.erase(front_.begin(), begin_of_front());
    first_ = 0;
  }

  /// The front has outgrown what is cheap to insert into.
  void thin_out() {
    drop_spent();
    if (all_at_once()) {
      front_most_ = 2 * front_.size();
    } else {
      spread_front();
      refill();
    }
  }

  [[nodiscard]] bool all_at_once() const {
    return std::all_of(front_.begin(), front_.end(), [&](const Key& key) { return key.at == front_[0].at; });
  }

  // --- the ladder ---

  /// REQUIRES: the event is not due before limit_.
  void put_on_ladder(const Key& key) { slots_[key.slot].position = ladder_->append(key); }

  /// REQUIRES: the front is empty.
  void refill() {
    front_.clear();
    first_ = 0;
    while (front_.empty() && size_ > 0) {
      limit_ = ladder_->advance();
      if (ladder_->has_rungs()) {
        const std::uint32_t fullest =
            ladder_->deal_current(limit_, front_, [this](const Key& key) { put_on_ladder(key); });
        sort_or_spread_front(fullest <= few, crowd);
      } else {
        ladder_->empty_far([this](const Key& key) { front_.push_back(key); });
        if (front_.size() <= small) ladder_.reset();
        sort_or_spread_front(front_.size() <= few, small);
      }
    }
    if (size_ == 0) start_afresh();
  }

  void sort_or_spread_front(bool nearly_sorted, std::size_t most_to_sort) {
    if (front_.size() > most_to_sort && !all_at_once()) {
      spread_front();
      return;
    }
    if (nearly_sorted) {
      insertion_sort(front_, before());
    } else {
      std::sort(front_.begin(), front_.end(), before());
    }
    // Twice what was loaded: a front of many equal instants is then not spread and reloaded over and over.
    front_most_ = std::max(small, 2 * front_.size());
  }

  /// Moves the front, sorted or not, to a new rung. What that does not reach goes to where it would have gone
  /// before.
  void spread_front() {
    if (!ladder_) ladder_.emplace();
    limit_ = ladder_->add_rung(front_);
    for (const Key& key : front_) put_on_ladder(key);
    front_.clear();
  }

  /// Events taken off the ladder leave gaps; once these outnumber the slots, it is built anew.
  void close_many_gaps() {
    if (!ladder_ || ladder_->gaps() <= slots_.size() + small) return;
    ladder_.emplace();
    for (Handle handle = 0; handle < slots_.size(); ++handle) {
      const Slot& slot = slots_[handle];
      if (slot.at != never && slot.at >= limit_) put_on_ladder({slot.at, handle});
    }
  }

  /// Nothing is pending, hence no handle is in use.
  void start_afresh() {
    ladder_.reset();
    slots_.clear();
    first_free_ = none;
    limit_ = never;
    front_most_ = small;
  }

  std::vector<Slot> slots_;
  std::vector<Key> front_;
  std::optional<Ladder> ladder_;  ///< none while the front holds everything
  Instant limit_ = never;
  std::uint64_t next_order_ = 0;
  std::size_t first_ = 0;
  std::size_t front_most_ = small;
  std::uint32_t size_ = 0;
  Handle first_free_ = none;
};

}  // namespace drybus::sim
