// What one event costs in our queue and in its peers, by the number of pending events.
//
//   queue/hold/<peer>/<n>      n pending; pop one, push one an exponential increment later (Jones, CACM 29(4), 1986)
//   queue/restart/<peer>/<n>   n/2 devices, each with one event and one far timer pending; pop an event, restart its
//                              device's timer, push the device's next event
//
// One iteration is one event. All peers draw the same increments, from a table made beforehand.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <array>
#include <boost/heap/d_ary_heap.hpp>
#include <boost/heap/fibonacci_heap.hpp>
#include <cmath>
#include <cstdint>
#include <initializer_list>
#include <queue>
#include <random>
#include <string>
#include <vector>

#include "sim/event_queue.h"
#include "tests/bench/queue_peer.h"
#ifdef DRYBUS_NS3
#include <ns3/heap-scheduler.h>
#include <ns3/map-scheduler.h>
#include <ns3/priority-queue-scheduler.h>

#include "tests/bench/ns3_queue.h"
#endif

namespace {

using drybus::bench::activity;
using drybus::bench::Kind;
using drybus::bench::Popped;
using drybus::bench::timer;
using drybus::sim::Duration;
using drybus::sim::EventQueue;
using drybus::sim::Instant;

constexpr double mean_increment_ns = 1e8;
/// So far that hardly a timer ever fires, as with the time-outs of a working system.
constexpr Duration time_out{static_cast<std::int64_t>(8 * mean_increment_ns)};

/// Increments in a ring, short enough to stay in the cache and of an odd length, so that no pattern locks in.
class Increments {
 public:
  Increments() {
    std::mt19937_64 random{1986};  // NOLINT(cert-msc51-cpp): the same for every peer
    for (std::uint32_t& increment : ring_) {
      const double uniform = (static_cast<double>(random() >> 11) + 0.5) * 0x1p-53;
      increment = static_cast<std::uint32_t>(std::min(-std::log(uniform) * mean_increment_ns, 4e9));
    }
  }

  Duration next() {
    if (++position_ == ring_.size()) position_ = 0;
    return Duration{ring_[position_]};
  }

 private:
  std::array<std::uint32_t, 20'011> ring_{};
  std::size_t position_ = 0;
};

/// What the peers hold: eight bytes of load, less than ours carries.
struct Entry {
  Instant at;
  std::uint64_t order;
  std::uint32_t device;
  std::uint32_t generation;  ///< of a timer, from 1 on; 0 for an activity

  [[nodiscard]] Popped popped() const { return {at, generation != 0 ? timer : activity, device}; }
};
static_assert(sizeof(Entry) == 24);

struct PlainLater {
  bool operator()(const Entry& a, const Entry& b) const {
    // NOLINTNEXTLINE(clang-diagnostic-bitwise-instead-of-logical): no branches is what it is here for
    return (a.at > b.at) | ((a.at == b.at) & (a.order > b.order));
  }
};

struct BranchingLater {
  bool operator()(const Entry& a, const Entry& b) const {
    if (a.at != b.at) return a.at > b.at;
    return a.order > b.order;
  }
};

class Ours {
 public:
  explicit Ours(std::uint32_t devices) : timers_(devices) {}

  void push(Instant at, std::uint32_t device) {
    queue_.push(at, {.kind = activity, .arg = 0, .who = device, .cause = 0});
  }
  void start_timer(Instant at, std::uint32_t device) {
    timers_[device] = queue_.push(at, {.kind = timer, .arg = 0, .who = device, .cause = 0});
  }
  void restart_timer(Instant at, std::uint32_t device) { queue_.rearm(timers_[device], at, 1); }
  Popped pop() {
    const EventQueue::Fired fired = queue_.pop();
    return {fired.at, static_cast<Kind>(fired.event.kind), fired.event.who};
  }

 private:
  EventQueue queue_;
  std::vector<EventQueue::Handle> timers_;
};

/// A std::priority_queue cannot take an event back: a restarted timer leaves its old entry behind, told by
/// its generation.
template <class Later>
class Std {
 public:
  explicit Std(std::uint32_t devices) : generations_(devices) {}

  void push(Instant at, std::uint32_t device) { queue_.push({at, next_order_++, device, 0}); }
  void start_timer(Instant at, std::uint32_t device) {
    queue_.push({at, next_order_++, device, ++generations_[device]});
  }
  void restart_timer(Instant at, std::uint32_t device) { start_timer(at, device); }
  Popped pop() {
    for (;;) {
      const Entry entry = queue_.top();
      queue_.pop();
      if (entry.generation == 0 || entry.generation == generations_[entry.device]) return entry.popped();
    }
  }

 private:
  std::priority_queue<Entry, std::vector<Entry>, Later> queue_;
  std::vector<std::uint32_t> generations_;
  std::uint64_t next_order_ = 0;
};

template <class Heap>
class Boost {
 public:
  explicit Boost(std::uint32_t devices) : timers_(devices) {}

  void push(Instant at, std::uint32_t device) { queue_.push({at, next_order_++, device, 0}); }
  void start_timer(Instant at, std::uint32_t device) {
    timers_[device] = queue_.push({at, next_order_++, device, 1});
  }
  void restart_timer(Instant at, std::uint32_t device) {
    queue_.update(timers_[device], {at, next_order_++, device, 1});
  }
  Popped pop() {
    const Entry entry = queue_.top();
    queue_.pop();
    return entry.popped();
  }

 private:
  Heap queue_;
  std::vector<typename Heap::handle_type> timers_;
  std::uint64_t next_order_ = 0;
};

using DAryHeap = boost::heap::d_ary_heap<Entry, boost::heap::arity<4>, boost::heap::mutable_<true>,
                                         boost::heap::compare<BranchingLater>>;
using FibonacciHeap = boost::heap::fibonacci_heap<Entry, boost::heap::compare<BranchingLater>>;

template <class Peer>
void hold_once(Peer& peer, Increments& increments) {
  const Popped popped = peer.pop();
  peer.push(popped.at + increments.next(), popped.device);
}

template <class Peer>
void restart_once(Peer& peer, Increments& increments) {
  const Popped popped = peer.pop();
  if (popped.kind == timer) {
    peer.start_timer(popped.at + time_out, popped.device);
    return;
  }
  peer.restart_timer(popped.at + time_out, popped.device);
  peer.push(popped.at + increments.next(), popped.device);
}

/// A peer in its steady state. It is kept from call to call, for the library calls a benchmark again and
/// again with more iterations, and filling a peer takes longer than measuring it.
template <class Peer>
struct Setting {
  std::uint32_t pending = 0;
  Increments increments;
  Peer peer{0};
};

template <class Peer>
Setting<Peer> hold_setting(std::uint32_t pending) {
  Setting<Peer> setting{.pending = pending, .increments = {}, .peer = Peer{0}};
  for (std::uint32_t i = 0; i < pending; ++i) setting.peer.push(Instant{setting.increments.next()}, i);
  for (std::uint32_t i = 0; i < 2 * pending; ++i) hold_once(setting.peer, setting.increments);
  return setting;
}

template <class Peer>
Setting<Peer> restart_setting(std::uint32_t pending) {
  const std::uint32_t devices = pending / 2;
  Setting<Peer> setting{.pending = pending, .increments = {}, .peer = Peer{devices}};
  for (std::uint32_t device = 0; device < devices; ++device) {
    setting.peer.push(Instant{setting.increments.next()}, device);
    setting.peer.start_timer(Instant{time_out}, device);
  }
  // Past the first time-out, so that the peers have as many abandoned entries as they will ever have.
  for (std::uint32_t i = 0; i < 10 * devices; ++i) restart_once(setting.peer, setting.increments);
  return setting;
}

template <class Peer>
void hold(benchmark::State& state, std::uint32_t pending) {
  static Setting<Peer> setting;
  if (setting.pending != pending) setting = hold_setting<Peer>(pending);
  for ([[maybe_unused]] auto _ : state) hold_once(setting.peer, setting.increments);
}

template <class Peer>
void restart(benchmark::State& state, std::uint32_t pending) {
  static Setting<Peer> setting;
  if (setting.pending != pending) setting = restart_setting<Peer>(pending);
  for ([[maybe_unused]] auto _ : state) restart_once(setting.peer, setting.increments);
}

template <class Run>
void add(const std::string& kind, const std::string& peer, std::uint32_t pending, Run run) {
  const std::string name = "queue/" + kind + "/" + peer + "/" + std::to_string(pending);
  benchmark::RegisterBenchmark(name.c_str(), run, pending);
}

template <class Peer>
void add_hold(const std::string& peer, std::uint32_t most_pending) {
  for (const std::uint32_t pending : {100U, 1'000U, 10'000U, 100'000U, 1'000'000U}) {
    if (pending <= most_pending) add("hold", peer, pending, hold<Peer>);
  }
}

template <class Peer>
void add_peer(const std::string& peer, std::uint32_t most_pending) {
  add_hold<Peer>(peer, most_pending);
  for (const std::uint32_t pending : {1'000U, 100'000U}) add("restart", peer, pending, restart<Peer>);
}

[[maybe_unused]] const bool registered = [] {
  add_peer<Ours>("ours", 1'000'000);
  add_peer<Std<PlainLater>>("std_plain", 1'000'000);
  add_peer<Std<BranchingLater>>("std_branch", 1'000'000);
  add_peer<Boost<DAryHeap>>("boost_dary", 1'000'000);
  // Already far behind at 100 000.
  add_peer<Boost<FibonacciHeap>>("boost_fibonacci", 100'000);
#ifdef DRYBUS_NS3
  using drybus::bench::Ns3Queue;
  add_peer<Ns3Queue<ns3::MapScheduler>>("ns3_map_debian", 1'000'000);
  // These look through all that is pending for an event to take away.
  add_hold<Ns3Queue<ns3::HeapScheduler>>("ns3_heap_debian", 1'000'000);
  add_hold<Ns3Queue<ns3::PriorityQueueScheduler>>("ns3_priority_debian", 1'000'000);
#endif
  return true;
}();

}  // namespace
