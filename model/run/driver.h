// Goes on with a run event by event, and stops one that would never end or fill the memory.
//
// Whoever drives a simulation does so through this: how people are carried through their steps is decided once.
#pragma once

#include <cstddef>
#include <cstdint>
#include <memory>
#include <stdexcept>

#include "model/world/simulation.h"

namespace drybus::model {

/// What a run may use up. Far more than any install takes: who comes here keeps something going that should rest.
struct Budget {
  std::uint64_t events = 20'000'000;
  std::size_t record_bytes = std::size_t{512}
                             << 20;  ///< of the record's entries, and of the remarks that are told with them
};

/// A run has used up its budget, and no firmware is to blame. `what` says how much that was, when, and who did it.
class UsedUp : public std::runtime_error {
 public:
  UsedUp(DeviceId device, const std::string& what) : std::runtime_error(what), device_(device) {}
  /// The device that used up most; no_device when it was none.
  [[nodiscard]] DeviceId device() const { return device_; }

 private:
  DeviceId device_;
};

class Driver {
 public:
  /// The simulation must outlive the driver.
  explicit Driver(Simulation& simulation, const Budget& budget = {});
  ~Driver();
  Driver(const Driver&) = delete;
  Driver& operator=(const Driver&) = delete;

  /// Goes on by one event. REQUIRES: one is pending. Throws once the budget is used up: FirmwareFault when it was a
  /// device with somebody's firmware, else UsedUp.
  void step() {
    const sim::Event event = simulation_.step();
    if (++events_ <= counted_from_ && entries() < entries_counted_from_) [[likely]]
      return;
    count(event);
  }

  /// Goes on until `done()`, which is asked before each event, and calls `after_event()` after each. What is due at
  /// `until` still happens, and nothing later. True when it is done, false when nothing more is due by then.
  template <class Done, class AfterEvent>
  bool go_on(Done done, AfterEvent after_event, sim::Instant until = last_instant) {
    while (!done()) {
      if (simulation_.next_at() > until) return false;
      step();
      after_event();
    }
    return true;
  }
  template <class Done>
  bool go_on(Done done) {
    return go_on(done, [] {});
  }

  /// Until that person's script is at its end; false when nothing is pending any more before it is.
  bool carry(std::uint32_t person);

  /// From here on with the whole budget, for one of many short ways.
  void renew();

  [[nodiscard]] std::uint64_t events() const { return events_; }
  [[nodiscard]] bool is_used_up() const { return events_ >= budget_.events || entries() >= most_entries_; }

 private:
  class Census;
  static constexpr sim::Instant last_instant = sim::never - sim::Duration{1};

  [[nodiscard]] std::size_t entries() const {
    const sim::Record* record = simulation_.record();
    return record == nullptr ? 0 : record->size();
  }
  void count(const sim::Event& event);
  [[noreturn]] void stop() const;

  Simulation& simulation_;
  Budget budget_;
  std::size_t most_entries_;
  std::uint64_t counted_from_;
  std::size_t entries_counted_from_;
  std::uint64_t events_ = 0;
  std::unique_ptr<Census> census_;  ///< of the last events before the budget ends
};

/// "20 million", "1500".
std::string count_text(std::uint64_t count);
/// "512 MB", "1.5 kB"; of 1024 each.
std::string size_text(std::size_t bytes);

}  // namespace drybus::model
