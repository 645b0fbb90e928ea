// The event queue against a trivially right twin, and its promises one by one.
#include "sim/event_queue.h"

#include <doctest/doctest.h>
#include <malloc.h>

#include <algorithm>
#include <array>
#include <cstdint>
#include <map>
#include <random>
#include <string>
#include <tuple>
#include <utility>
#include <vector>

#include "tests/support/seeds.h"

namespace {

using drybus::sim::Duration;
using drybus::sim::Event;
using drybus::sim::EventQueue;
using drybus::sim::Instant;
using drybus::sim::never;
using drybus::test::replay;
using drybus::test::seeds;

Instant at_ns(std::int64_t ns) {
  return Instant{Duration{ns}};
}

Event event_of(std::uint32_t who) {
  return {.kind = 1, .arg = 2, .who = who, .cause = 3};
}

std::vector<std::uint32_t> owners_in_order(EventQueue queue) {
  std::vector<std::uint32_t> owners;
  while (!queue.empty()) owners.push_back(queue.pop().event.who);
  return owners;
}

/// What a copy of the queue allocates, which is what the queue needs: a copy has no spare capacity. 0 where a
/// sanitizer has replaced the allocator.
std::size_t bytes_of_a_copy(const EventQueue& queue) {
  const auto allocated = [] {
    const auto info = mallinfo2();
    return info.uordblks + info.hblkhd;
  };
  const std::size_t before = allocated();
  const EventQueue copy = queue;  // NOLINT(performance-unnecessary-copy-initialization): it is weighed
  const std::size_t after = allocated();
  return after - before;
}

/// What the queue promises, in the plainest form: a sorted map by (instant, order of insertion).
class Twin {
 public:
  void push(EventQueue::Handle handle, Instant at, const Event& event) {
    const Rank rank{at, next_order_++};
    by_rank_[rank] = {at, event, handle};
    rank_of_[handle] = rank;
  }

  void rearm(EventQueue::Handle handle, Instant at, std::uint32_t cause) {
    Event event = by_rank_.at(rank_of_.at(handle)).event;
    event.cause = cause;
    cancel(handle);
    push(handle, at, event);
  }

  void cancel(EventQueue::Handle handle) {
    by_rank_.erase(rank_of_.at(handle));
    rank_of_.erase(handle);
  }

  EventQueue::Fired pop() {
    const EventQueue::Fired fired = by_rank_.begin()->second;
    cancel(fired.handle);
    return fired;
  }

  [[nodiscard]] std::size_t size() const { return by_rank_.size(); }
  [[nodiscard]] Instant next_at() const { return by_rank_.empty() ? never : by_rank_.begin()->second.at; }

  /// Visits (instant, order, event, handle) in order.
  template <class Visit>
  void for_each(Visit&& visit) const {
    for (const auto& [rank, fired] : by_rank_) visit(rank.first, rank.second, fired.event, fired.handle);
  }

 private:
  using Rank = std::pair<Instant, std::uint64_t>;
  std::map<Rank, EventQueue::Fired> by_rank_;
  std::map<EventQueue::Handle, Rank> rank_of_;
  std::uint64_t next_order_ = 0;
};

/// The instants a random run draws from: how far ahead of now an event may be.
enum class Spread : std::uint8_t { ties, near, wide, clustered, outliers };
constexpr std::array all_spreads{Spread::ties, Spread::near, Spread::wide, Spread::clustered,
                                 Spread::outliers};

/// Drives a queue and its twin through the same random history and compares all that can be seen of them.
class Pair {
 public:
  Pair(std::uint64_t seed, Spread spread) : random_(seed), spread_(spread) {}

  /// Random operations that tend towards `target` pending events.
  void run(std::size_t steps, std::size_t target) {
    for (std::size_t step = 0; step < steps && alike_; ++step) {
      take_step(target);
      expect(queue.size() == twin.size() && queue.next_at() == twin.next_at());
    }
  }

  void drain_to(std::size_t target) {
    while (alike_ && twin.size() > target) pop();
  }

  /// Every pending event, its instant, its order and its handle.
  void compare_contents() {
    using Entry = std::tuple<Instant, std::uint64_t, std::uint32_t, EventQueue::Handle>;
    std::vector<Entry> ours;
    std::vector<Entry> theirs;
    queue.for_each([&](Instant at, std::uint64_t order, const Event& event, EventQueue::Handle handle) {
      ours.emplace_back(at, order, event.who, handle);
      expect(queue.due(handle) == at && queue[handle] == event);
    });
    twin.for_each([&](Instant at, std::uint64_t order, const Event& event, EventQueue::Handle handle) {
      theirs.emplace_back(at, order, event.who, handle);
    });
    std::sort(ours.begin(), ours.end());
    expect(ours == theirs);
  }

  [[nodiscard]] bool alike() const { return alike_; }

  EventQueue queue;
  Twin twin;

 private:
  void expect(bool agreed) { alike_ = alike_ && agreed; }

  void take_step(std::size_t target) {
    const std::uint64_t choice = random_() % 16;
    const bool grow = twin.size() < target;
    if (handles_.empty() || choice < (grow ? 9U : 4U)) {
      push();
    } else if (choice < 11) {
      pop();
    } else if (choice < 14) {
      rearm();
    } else {
      cancel();
    }
  }

  void push() {
    const Instant at = draw_instant();
    const Event event{.kind = static_cast<std::uint16_t>(random_()),
                      .arg = static_cast<std::uint16_t>(random_()),
                      .who = static_cast<std::uint32_t>(random_()),
                      .cause = 0};
    const EventQueue::Handle handle = queue.push(at, event);
    twin.push(handle, at, event);
    remember(handle);
  }

  void pop() {
    if (handles_.empty()) return;
    const EventQueue::Fired ours = queue.pop();
    const EventQueue::Fired theirs = twin.pop();
    expect(ours.at == theirs.at && ours.event == theirs.event && ours.handle == theirs.handle);
    now_ = theirs.at;
    forget(theirs.handle);
  }

  void rearm() {
    const EventQueue::Handle handle = any_handle();
    const Instant at = draw_instant();
    const auto cause = static_cast<std::uint32_t>(random_());
    queue.rearm(handle, at, cause);
    twin.rearm(handle, at, cause);
  }

  void cancel() {
    const EventQueue::Handle handle = any_handle();
    queue.cancel(handle);
    twin.cancel(handle);
    forget(handle);
  }

  EventQueue::Handle any_handle() { return handles_[random_() % handles_.size()]; }

  void remember(EventQueue::Handle handle) {
    if (handle >= index_of_.size()) index_of_.resize(handle + 1);
    index_of_[handle] = handles_.size();
    handles_.push_back(handle);
  }

  void forget(EventQueue::Handle handle) {
    const std::size_t index = index_of_[handle];
    handles_[index] = handles_.back();
    index_of_[handles_[index]] = index;
    handles_.pop_back();
  }

  Instant draw_instant() {
    const std::uint64_t raw = random_();
    const std::uint64_t kind = raw >> 60;
    switch (spread_) {
      case Spread::ties:
        return now_ + Duration{static_cast<std::int64_t>(raw % 3)};
      case Spread::near:
        return now_ + Duration{static_cast<std::int64_t>(raw % 1'000)};
      case Spread::wide:
        return now_ + Duration{static_cast<std::int64_t>(raw % (std::uint64_t{1} << (10 + kind * 2)))};
      case Spread::clustered:
        return at_ns((now_.time_since_epoch().count() / 1'000'000 + static_cast<std::int64_t>(1 + raw % 4)) *
                         1'000'000 +
                     (kind == 0 ? static_cast<std::int64_t>(raw % 100) : 0));
      case Spread::outliers:
        return now_ + Duration{kind == 0 ? std::int64_t{1} << 50 : static_cast<std::int64_t>(raw % 10'000)};
    }
    return now_;
  }

  std::mt19937_64 random_;
  Spread spread_;
  Instant now_{};
  std::vector<EventQueue::Handle> handles_;
  std::vector<std::size_t> index_of_;
  bool alike_ = true;
};

}  // namespace

TEST_CASE("an empty queue is due never") {
  const EventQueue queue;
  CHECK(queue.empty());
  CHECK(queue.size() == 0);
  CHECK(queue.next_at() == never);
}

TEST_CASE("events come out by instant whatever the order they went in") {
  EventQueue queue;
  for (const std::int64_t ns : {50, 10, 40, 20, 30})
    queue.push(at_ns(ns), event_of(static_cast<std::uint32_t>(ns)));
  CHECK(queue.next_at() == at_ns(10));
  CHECK(owners_in_order(queue) == std::vector<std::uint32_t>{10, 20, 30, 40, 50});
}

TEST_CASE("events of one instant come out in the order of insertion, however many there are") {
  for (const std::uint32_t count : {3U, 40U, 60U, 100U, 5'000U}) {
    EventQueue queue;
    std::vector<std::uint32_t> expected;
    for (std::uint32_t i = 0; i < count; ++i) {
      queue.push(at_ns(7), event_of(i));
      expected.push_back(i);
    }
    CHECK(owners_in_order(queue) == expected);
  }
}

TEST_CASE("an event for the present instant runs after those already pending for it") {
  EventQueue queue;
  queue.push(at_ns(5), event_of(1));
  queue.push(at_ns(5), event_of(2));
  CHECK(queue.pop().event.who == 1);
  queue.push(at_ns(5), event_of(3));
  queue.push(at_ns(6), event_of(4));
  CHECK(owners_in_order(queue) == std::vector<std::uint32_t>{2, 3, 4});
}

TEST_CASE("a rearmed event counts as a new insertion and takes its new cause along") {
  EventQueue queue;
  const auto first = queue.push(at_ns(5), event_of(1));
  queue.push(at_ns(5), event_of(2));
  queue.rearm(first, at_ns(5), 99);
  CHECK(queue.size() == 2);
  CHECK(queue[first].cause == 99);
  CHECK(owners_in_order(queue) == std::vector<std::uint32_t>{2, 1});
}

TEST_CASE("an event can be rearmed to sooner and to later, among few and among many") {
  for (const std::uint32_t others : {0U, 10U, 1'000U}) {
    EventQueue queue;
    for (std::uint32_t i = 0; i < others; ++i) queue.push(at_ns(1'000 + 10 * std::int64_t{i}), event_of(0));
    const auto moved = queue.push(at_ns(2'000), event_of(1));
    queue.rearm(moved, at_ns(50'000), 0);
    CHECK(queue.due(moved) == at_ns(50'000));
    queue.rearm(moved, at_ns(40'000), 0);
    CHECK(owners_in_order(queue).back() == 1);
    queue.rearm(moved, at_ns(500), 0);
    CHECK(queue.next_at() == at_ns(500));
    CHECK(queue.pop().handle == moved);
  }
}

TEST_CASE("a cancelled event never shows") {
  EventQueue queue;
  const auto first = queue.push(at_ns(1), event_of(1));
  queue.push(at_ns(2), event_of(2));
  const auto last = queue.push(at_ns(3), event_of(3));
  queue.cancel(first);
  CHECK(queue.next_at() == at_ns(2));
  queue.cancel(last);
  CHECK(queue.size() == 1);
  CHECK(queue.pop().event.who == 2);
  CHECK(queue.empty());
}

TEST_CASE("cancelling and restarting a timer without end takes no more memory, be it next or last") {
  for (const std::uint32_t others : {0U, 20U, 5'000U}) {
    for (const std::int64_t first_due : {1'000'000LL, 3'000'000'000LL}) {
      EventQueue queue;
      for (std::uint32_t i = 0; i < others; ++i)
        queue.push(at_ns(2'000'000'000 + std::int64_t{i}), event_of(i));
      EventQueue::Handle timer = queue.push(at_ns(first_due), event_of(7));
      EventQueue::Handle highest = timer;
      for (std::int64_t round = 0; round < 100'000; ++round) {
        queue.cancel(timer);
        timer = queue.push(at_ns(first_due + round), event_of(7));
        queue.rearm(timer, at_ns(first_due + round / 2), 0);
        highest = std::max(highest, timer);
      }
      CHECK(queue.size() == others + 1);
      CHECK(highest <= others + 1);
      CHECK(bytes_of_a_copy(queue) < 4'000 + 200 * std::size_t{others});
    }
  }
}

TEST_CASE("a queue that goes on and on takes no more memory, and one that was large is small again") {
  EventQueue queue;
  for (std::uint32_t i = 0; i < 10'000; ++i) queue.push(at_ns(i), event_of(i));
  while (!queue.empty()) queue.pop();
  for (std::uint32_t i = 0; i < 10; ++i) queue.push(at_ns(20'000 + i), event_of(i));
  for (std::int64_t i = 0; i < 100'000; ++i)
    queue.push(queue.pop().at + Duration{1 + i * 7 % 23}, event_of(0));
  CHECK(bytes_of_a_copy(queue) < 1'000);
}

TEST_CASE("a queue that was emptied is used again from its first handle") {
  EventQueue queue;
  for (std::uint32_t round = 0; round < 5; ++round) {
    EventQueue::Handle highest = 0;
    for (std::uint32_t i = 0; i < 1'000; ++i)
      highest = std::max(highest, queue.push(at_ns(i * 7 % 500), event_of(i)));
    while (!queue.empty()) queue.pop();
    CHECK(highest < 1'000);
    CHECK(queue.next_at() == never);
  }
}

TEST_CASE("copies are independent and go on alike") {
  for (const std::size_t size : {5U, 60U, 3'000U}) {
    Pair original{size, Spread::wide};
    original.run(10 * size, size);
    Pair copy = original;
    CHECK(copy.queue == original.queue);
    original.run(10 * size, size);
    CHECK(copy.queue != original.queue);
    copy.run(10 * size, size);
    CHECK(copy.alike());
    CHECK(copy.queue == original.queue);
  }
}

TEST_CASE("instants are in order from the start of the run to just before never") {
  EventQueue queue;
  std::multimap<Instant, std::uint32_t> expected;
  const auto push = [&](Instant at) {
    const auto arg = static_cast<std::uint32_t>(expected.size());
    queue.push(at, event_of(arg));
    expected.emplace(at, arg);
  };
  for (std::int64_t i = 0; i < 1'000; ++i) {
    push(never - Duration{1 + i % 300});
    push(at_ns(i * i));
    push(at_ns(std::int64_t{1} << (i % 62)));
  }
  std::vector<std::uint32_t> owners;
  for (const auto& [at, who] : expected) owners.push_back(who);
  CHECK(owners_in_order(queue) == owners);
}

TEST_CASE("an event may be pushed earlier than the last one popped") {
  EventQueue queue;
  for (std::uint32_t i = 0; i < 1'000; ++i) queue.push(at_ns(1'000 * std::int64_t{i}), event_of(i));
  for (int i = 0; i < 500; ++i) queue.pop();
  queue.push(at_ns(3), event_of(7'777));
  CHECK(queue.next_at() == at_ns(3));
  CHECK(queue.pop().event.who == 7'777);
  CHECK(queue.pop().event.who == 500);
}

TEST_CASE("two queues of one history are equal and a different history tells") {
  EventQueue a;
  EventQueue b;
  a.push(at_ns(1), event_of(1));
  CHECK(a != b);
  b.push(at_ns(1), event_of(1));
  CHECK(a == b);
  a.push(at_ns(2), event_of(1));
  b.push(at_ns(3), event_of(1));
  CHECK(a != b);
}

TEST_CASE("a cluster and stragglers that come before everything already sorted into buckets come out first") {
  EventQueue queue;
  std::multimap<std::int64_t, std::uint32_t> expected;
  const auto push = [&](std::int64_t ns) {
    const auto arg = static_cast<std::uint32_t>(expected.size());
    queue.push(at_ns(ns), event_of(arg));
    expected.emplace(ns, arg);
  };
  for (std::int64_t i = 0; i < 1'000; ++i) push(1'000'000 + 1'000 * i);
  for (std::int64_t i = 1; i <= 60; ++i) push(i);
  for (std::int64_t i = 1; i <= 90; ++i) push(i % 7 == 0 ? 10'000 * i : i);
  std::vector<std::uint32_t> owners;
  for (const auto& [ns, who] : expected) owners.push_back(who);
  CHECK(owners_in_order(queue) == owners);
}

TEST_CASE("bursts before a crowd of one instant come out before it") {
  EventQueue queue;
  for (std::uint32_t i = 0; i < 20'000; ++i) queue.push(at_ns(1'000'000'000), event_of(i));
  std::int64_t now = 0;
  for (int burst = 0; burst < 200; ++burst) {
    for (std::int64_t i = 0; i < 100; ++i) queue.push(at_ns(now + 1 + i * 37 % 100), event_of(1));
    for (int i = 0; i < 100; ++i) now = queue.pop().at.time_since_epoch().count();
  }
  CHECK(queue.size() == 20'000);
  CHECK(queue.next_at() == at_ns(1'000'000'000));
}

TEST_CASE("the queue does what its plain twin does, while small") {
  for (const std::uint64_t seed : seeds(300)) {
    INFO(replay(seed, "the queue does what its plain twin does, while small"));
    for (const Spread spread : all_spreads) {
      Pair pair{seed, spread};
      for (const std::size_t target : {4U, 40U, 0U, 70U}) pair.run(400, target);
      pair.compare_contents();
      pair.drain_to(0);
      CHECK(pair.alike());
    }
  }
}

TEST_CASE("the queue does what its plain twin does, growing and shrinking") {
  for (const std::uint64_t seed : seeds(25)) {
    INFO(replay(seed, "the queue does what its plain twin does, growing and shrinking"));
    for (const Spread spread : all_spreads) {
      Pair pair{seed, spread};
      for (const std::size_t target : {30U, 2'000U, 20U, 200U, 3'000U}) {
        pair.run(4 * target + 1'000, target);
        pair.compare_contents();
        pair.drain_to(target / 3);
        pair.compare_contents();
      }
      pair.drain_to(0);
      CHECK(pair.alike());
    }
  }
}

TEST_CASE("the queue does what its plain twin does, with a hundred thousand pending") {
  for (const std::uint64_t seed : seeds(1)) {
    INFO(replay(seed, "the queue does what its plain twin does, with a hundred thousand pending"));
    for (const Spread spread : {Spread::near, Spread::wide}) {
      Pair pair{seed, spread};
      pair.run(400'000, 100'000);
      pair.compare_contents();
      pair.drain_to(10);
      pair.run(1'000, 10);
      pair.drain_to(0);
      CHECK(pair.alike());
    }
  }
}
