// The schedulers of ns-3, a general-purpose network simulator, as peers of our queue.
// Debian's build of it has the simulator's logs compiled in, which costs it some time.
#pragma once

#include <ns3/scheduler.h>

#include <cstdint>
#include <vector>

#include "tests/bench/queue_peer.h"

namespace drybus::bench {

/// `Scheduler` is one of ns-3's. Its events carry a number, into which device and kind go.
template <class Scheduler>
class Ns3Queue {
 public:
  explicit Ns3Queue(std::uint32_t devices) : scheduler_(ns3::CreateObject<Scheduler>()), timers_(devices) {}

  void push(sim::Instant at, std::uint32_t device) { scheduler_->Insert(event_at(at, activity, device)); }
  void start_timer(sim::Instant at, std::uint32_t device) {
    timers_[device] = event_at(at, timer, device);
    scheduler_->Insert(timers_[device]);
  }
  void restart_timer(sim::Instant at, std::uint32_t device) {
    scheduler_->Remove(timers_[device]);
    start_timer(at, device);
  }
  Popped pop() {
    const ns3::Scheduler::EventKey key = scheduler_->RemoveNext().key;
    return {sim::Instant{sim::Duration{static_cast<std::int64_t>(key.m_ts)}},
            static_cast<Kind>(key.m_context & 1), key.m_context >> 1};
  }

 private:
  ns3::Scheduler::Event event_at(sim::Instant at, Kind kind, std::uint32_t device) {
    const auto ns = static_cast<std::uint64_t>(at.time_since_epoch().count());
    return {nullptr, {ns, next_order_++, device << 1 | kind}};
  }

  ns3::Ptr<Scheduler> scheduler_;
  std::vector<ns3::Scheduler::Event> timers_;
  std::uint32_t next_order_ = 0;
};

}  // namespace drybus::bench
