// The pending events of a world: plain data in a stable order (time, then insertion), with true cancellation.
//
// A value: copies are independent and go on alike. Events are data, never closures.
//
// Shape, after the ladder queue (Tang, Goh and Thng, "Ladder queue", TOMACS 15(3), 2005):
//
//   front_   the soonest events, sorted; the only part a small world ever uses
//   rungs_   unsorted buckets of equal width; each further rung is finer and covers a sooner stretch of time
//   far      one unsorted list of everything later
//
// When the front runs out, the next bucket is sorted into it; a bucket too crowded to sort is spread over a finer rung.
// So an event is touched a fixed number of times, however many are pending, and lists are threaded through the slots.
#pragma once

#include <algorithm>
#include <array>
#include <bit>
#include <cassert>
#include <cstddef>
#include <cstdint>
#include <iterator>
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
/// (3) an event never lies in a later list than the one it belongs to, but may lie in a sooner one: an event that is moved
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
    ++size_;
    file(handle);
    settle();
    return handle;
  }

  /// Moves a pending event to another instant, in the order of a new one; may replace its cause.
  /// REQUIRES: `handle` is pending, `at` < never.
  void rearm(Handle handle, Instant at, std::uint32_t cause) {
    assert(is_pending(handle) && at < never);
    Slot& slot = slots_[handle];
    slot.event.cause = cause;
    const bool may_stay = slot.place != in_front && at >= slot.at;
    if (!may_stay) take_out(handle);
    slot.at = at;
    slot.order = next_order_++;
    if (may_stay) return;
    file(handle);
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
      if (slot.place != is_free) visit(slot.at, slot.order, slot.event, handle);
    }
  }

  friend bool operator==(const EventQueue&, const EventQueue&) = default;

 private:
  /// Where an event lies: an index into heads_, or one of the three named here.
  using Place = std::uint32_t;
  static constexpr Place is_free = 0xffff'ffff;
  static constexpr Place in_front = 0xffff'fffe;
  static constexpr Place in_far = 0xffff'fffd;

  /// Up to `crowd` events are sorted as they are; the front may grow to `front_room` before it is spread.
  static constexpr std::size_t crowd = 48;
  static constexpr std::size_t front_room = 64;

  struct Slot {
    Instant at;
    std::uint64_t order = 0;
    Event event;
    Handle next = none;      ///< in the list of its bucket, or of the free slots
    Handle previous = none;  ///< in the list of its bucket
    Place place = is_free;
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
    Place first;
    Place cursor;
    friend bool operator==(const Rung&, const Rung&) = default;
  };

  static std::uint64_t since(Instant start, Instant at) { return static_cast<std::uint64_t>((at - start).count()); }
  static Instant after(Instant start, std::uint64_t ns) { return start + Duration{static_cast<std::int64_t>(ns)}; }

  [[nodiscard]] bool is_pending(Handle handle) const {
    return handle < slots_.size() && slots_[handle].place != is_free;
  }
  [[nodiscard]] bool before(const Key& a, const Key& b) const {
    return a.at != b.at ? a.at < b.at : slots_[a.slot].order < slots_[b.slot].order;
  }

  Handle take_slot() {
    if (first_free_ == none) {
      slots_.emplace_back();
      return static_cast<Handle>(slots_.size() - 1);
    }
    const Handle handle = first_free_;
    first_free_ = slots_[handle].next;
    return handle;
  }

  void give_slot(Handle handle) {
    slots_[handle].place = is_free;
    slots_[handle].next = first_free_;
    first_free_ = handle;
    --size_;
  }

  /// Puts an event where its instant belongs.
  void file(Handle handle) {
    if (slots_[handle].at < limit_) {
      insert_in_front(handle);
    } else {
      link(handle, place_of(slots_[handle].at));
    }
  }

  void take_out(Handle handle) {
    if (slots_[handle].place == in_front) {
      erase_from_front(handle);
    } else {
      unlink(handle);
    }
  }

  /// Restores invariant (2) and keeps the front short.
  void settle() {
    const std::size_t in_use = front_.size() - first_;
    if (in_use == 0) {
      refill();
    } else if (in_use > front_most_) {
      thin_out();
    }
  }

  // --- lists -------------------------------------------------------------------------------------------------

  Handle& head(Place place) { return place == in_far ? far_ : heads_[place]; }

  void link(Handle handle, Place place) {
    Handle& first = head(place);
    Slot& slot = slots_[handle];
    slot.place = place;
    slot.previous = none;
    slot.next = first;
    if (first != none) slots_[first].previous = handle;
    first = handle;
  }

  void unlink(Handle handle) {
    const Slot& slot = slots_[handle];
    (slot.previous == none ? head(slot.place) : slots_[slot.previous].next) = slot.next;
    if (slot.next != none) slots_[slot.next].previous = slot.previous;
  }

  /// The list for an instant that is not before limit_: the finest rung that reaches it. A spread front may reach back
  /// to before a coarser rung's cursor, and what its own rung leaves over goes to that cursor, the next to be opened.
  [[nodiscard]] Place place_of(Instant at) const {
    for (std::size_t i = rungs_.size(); i-- > 0;) {
      const Rung& rung = rungs_[i];
      if (at < rung.start) return rung.cursor;
      const std::uint64_t offset = since(rung.start, at);
      if (offset < rung.span) return std::max(rung.cursor, rung.first + static_cast<Place>(offset >> rung.shift));
    }
    return in_far;
  }

  // --- the front ---------------------------------------------------------------------------------------------

  [[nodiscard]] auto begin_of_front() { return front_.begin() + static_cast<std::ptrdiff_t>(first_); }

  /// REQUIRES: the event is the newest, so that it follows every other of its instant.
  void insert_in_front(Handle handle) {
    const Key key{slots_[handle].at, handle};
    slots_[handle].place = in_front;
    const auto where = std::upper_bound(begin_of_front(), front_.end(), key.at,
                                        [](Instant at, const Key& other) { return at < other.at; });
    if (first_ > 0 && where - begin_of_front() < front_.end() - where) {
      *std::move(begin_of_front(), where, begin_of_front() - 1) = key;
      --first_;
    } else {
      front_.insert(where, key);
    }
  }

  void erase_from_front(Handle handle) {
    const Key key{slots_[handle].at, handle};
    const auto where = std::lower_bound(begin_of_front(), front_.end(), key,
                                        [this](const Key& a, const Key& b) { return before(a, b); });
    assert(where != front_.end() && where->slot == handle);
    if (where - begin_of_front() < front_.end() - where) {
      std::move_backward(begin_of_front(), where, where + 1);
      ++first_;
    } else {
      front_.erase(where);
    }
  }

  void drop_spent() {
    front_.erase(front_.begin(), begin_of_front());
    first_ = 0;
  }

  /// Makes the gathered keys the front. Buckets are short, so nearly always a few steps of insertion.
  void sort_front() {
    const auto sooner = [this](const Key& a, const Key& b) { return before(a, b); };
    if (front_.size() > crowd) {
      std::sort(front_.begin(), front_.end(), sooner);
    } else {
      for (std::size_t i = 1; i < front_.size(); ++i) {
        const Key key = front_[i];
        std::size_t hole = i;
        for (; hole > 0 && before(key, front_[hole - 1]); --hole) front_[hole] = front_[hole - 1];
        front_[hole] = key;
      }
    }
    for (const Key& key : front_) slots_[key.slot].place = in_front;
    // Twice what was loaded: a front of many equal instants is then not spread and reloaded over and over.
    front_most_ = std::max(front_room, 2 * front_.size());
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

  // --- refilling ---------------------------------------------------------------------------------------------

  /// REQUIRES: the front is empty.
  void refill() {
    front_.clear();
    first_ = 0;
    while (front_.empty() && size_ > 0) {
      if (rungs_.empty()) {
        gather_far();
      } else {
        gather_bucket();
      }
      if (front_.size() > crowd && spreadable()) {
        spread_front();
      } else {
        sort_front();
      }
    }
    if (size_ == 0) forget_rungs();
  }

  void forget_rungs() {
    rungs_.clear();
    heads_.clear();
    limit_ = never;
    front_most_ = front_room;
  }

  /// Everything pending is in the far list: walks it, or the slots in their own order where most of them belong to it,
  /// which is the order that memory likes.
  void gather_far() {
    limit_ = never;
    if (slots_.size() < 4 * size_) {
      for (Handle handle = 0; handle < slots_.size(); ++handle) {
        if (slots_[handle].place == in_far) front_.push_back({slots_[handle].at, handle});
      }
    } else {
      for (Handle handle = far_; handle != none; handle = slots_[handle].next) {
        front_.push_back({slots_[handle].at, handle});
      }
    }
    far_ = none;
  }

  /// Gathers the next bucket of the finest rung, or leaves that rung if it is spent.
  void gather_bucket() {
    Rung& rung = rungs_.back();
    const Place end = static_cast<Place>(heads_.size());
    while (rung.cursor < end && heads_[rung.cursor] == none) ++rung.cursor;
    if (rung.cursor == end) {
      limit_ = after(rung.start, rung.span);
      heads_.resize(rung.first);
      rungs_.pop_back();
      return;
    }
    const std::uint64_t reach = (std::uint64_t{rung.cursor - rung.first} + 1) << rung.shift;
    limit_ = after(rung.start, std::min(reach, rung.span));
    prefetch(rung.cursor);
    Handle handle = heads_[rung.cursor];
    heads_[rung.cursor] = none;
    while (handle != none) {
      const Slot& slot = slots_[handle];
      const Handle next = slot.next;
      if (slot.at < limit_) {
        front_.push_back({slot.at, handle});
      } else {
        link(handle, place_of(slot.at));
      }
      handle = next;
    }
  }

  void prefetch(Place cursor) const {
    if (cursor + 8 < heads_.size() && heads_[cursor + 8] != none) __builtin_prefetch(&slots_[heads_[cursor + 8]]);
    if (cursor + 4 < heads_.size() && heads_[cursor + 4] != none) {
      const Handle next = slots_[heads_[cursor + 4]].next;
      if (next != none) __builtin_prefetch(&slots_[next]);
    }
  }

  [[nodiscard]] bool spreadable() const {
    return std::any_of(front_.begin(), front_.end(), [&](const Key& key) { return key.at != front_[0].at; });
  }

  /// Moves the front, sorted or not, to a new rung whose buckets hold one or two events each where events are dense.
  /// What lies beyond the rung goes back to where it came from.
  void spread_front() {
    const auto sooner = [](const Key& a, const Key& b) { return a.at < b.at; };
    const auto [least, most] = std::minmax_element(front_.begin(), front_.end(), sooner);
    const std::uint64_t width = 2 * typical_offset(least->at) / front_.size();
    const std::uint32_t shift = width == 0 ? 0 : static_cast<std::uint32_t>(std::bit_width(width)) - 1;
    const std::uint64_t span = std::min(since(least->at, most->at) + 1, std::uint64_t{4 * front_.size()} << shift);
    const Place first = static_cast<Place>(heads_.size());
    rungs_.push_back({least->at, span, shift, first, first});
    heads_.resize(first + ((span - 1) >> shift) + 1, none);
    limit_ = least->at;
    for (const Key& key : front_) link(key.slot, place_of(key.at));
    front_.clear();
  }

  /// The median distance from `start`, from a sample: unlike a mean it is not fooled by a few very late events.
  [[nodiscard]] std::uint64_t typical_offset(Instant start) const {
    std::array<std::uint64_t, crowd> sample{};
    for (std::size_t i = 0; i < sample.size(); ++i) {
      sample[i] = since(start, front_[i * front_.size() / sample.size()].at);
    }
    const auto middle = sample.begin() + sample.size() / 2;
    std::nth_element(sample.begin(), middle, sample.end());
    return *middle;
  }

  std::vector<Slot> slots_;
  std::vector<Key> front_;
  std::vector<Handle> heads_;  ///< one list per bucket, rung after rung
  std::vector<Rung> rungs_;    ///< the coarsest first
  Instant limit_ = never;
  std::uint64_t next_order_ = 0;
  std::size_t size_ = 0;
  std::size_t first_ = 0;
  std::size_t front_most_ = front_room;
  Handle first_free_ = none;
  Handle far_ = none;
};

}  // namespace drybus::sim
