// A run with one of its devices at the other end of a line: what reaches the device goes out, what it does comes in, and
// becomes a step of the scenario. So the session that is left replays to the same digest without the device.
//
// Two clocks. In lock-step the device is told, before every event, until when time may go on, and answers with one message:
// what it does first, and when, or that there is nothing. So a slow device is exact. In real time the run keeps pace with
// the clock on the wall, and what comes in happens then.
//
// A device that dies, stalls, floods, or lies about time is told of, and the run goes on to its end without it.
#pragma once

#include <algorithm>
#include <atomic>
#include <chrono>
#include <functional>
#include <memory>
#include <string>

#include "model/findings/findings.h"
#include "model/firmware/outside.h"
#include "model/run/driver.h"
#include "model/world/simulation.h"
#include "tools/bridge/port.h"

namespace drybus::tools {

struct SessionOptions {
  model::DeviceId device = model::no_device;
  Pace pace = Pace::lock_step;
  double speed = 1;                             ///< real time: so many times as fast
  std::chrono::milliseconds patience{5'000};    ///< lock-step: for an answer
  sim::Duration until{};                        ///< the run goes on to then at least
  model::Budget budget;
  std::function<void(const std::string&)> tell; ///< what happens on the line, in sentences
};

/// What became of it.
struct SessionResult {
  std::string ended_early;      ///< why the device took part no longer; empty: it did to the end
  std::uint64_t told = 0;       ///< messages to the device,
  std::uint64_t acts = 0;       ///< and what it did
  std::uint64_t unreadable = 0; ///< messages that could not be read
  std::uint64_t off_time = 0;   ///< real time: messages whose time was more than a second off
  std::uint64_t without_power = 0;
  sim::Fingerprint digest;
  sim::Instant ended{};
};

class Session {
 public:
  /// Bounds on a device that does what it should not.
  static constexpr std::uint64_t most_unreadable = 100;
  static constexpr std::uint64_t most_per_second = 1'000;  ///< messages, real time
  static constexpr std::uint64_t most_at_once = 64;        ///< acts, while no other event comes; lock-step
  static constexpr std::size_t most_steps = 200'000;
  static constexpr sim::Duration off_time = std::chrono::seconds{1};
  /// Several things at one moment are told one after another, each a nanosecond later.
  static constexpr sim::Duration one_moment = std::chrono::microseconds{1};
  static constexpr sim::Duration longest_grant = std::chrono::minutes{1};  ///< of time to go on; lock-step

  /// `scenario` is copied, and the device's logic put into the copy.
  Session(const model::Scenario& scenario, Port& port, SessionOptions options);
  Session(const Session&) = delete;
  Session& operator=(const Session&) = delete;

  /// To the end of everybody's script, or until `interrupted`. May throw FirmwareFault and UsedUp.
  SessionResult run(const std::atomic<bool>& interrupted);

  /// The scenario with everything that came in as its steps.
  [[nodiscard]] const model::Scenario& scenario() const { return scenario_; }

 private:
  using Clock = std::chrono::steady_clock;

  [[nodiscard]] bool is_over() const { return simulation_->scripts_done(); }
  [[nodiscard]] bool takes_part() const { return result_.ended_early.empty(); }
  void in_lock_step(const std::atomic<bool>& interrupted);
  void in_real_time(const std::atomic<bool>& interrupted);
  bool ask(sim::Instant until);
  bool take_answer(const Incoming& answer, sim::Instant until);
  void wait_until(Clock::time_point due);
  void take_in_real_time(const Incoming& message);
  void count_unreadable(const std::string& why);
  bool count_in_this_second();
  void inject(sim::Instant at, const model::OutsideAct& act);
  void step();
  void settle();
  void send(Outgoing message);
  void hear(const model::Stimulus& stimulus);
  void end_part(const std::string& why);
  [[nodiscard]] sim::Instant run_time() const;
  [[nodiscard]] Clock::time_point wall_time(sim::Instant at) const;
  [[nodiscard]] sim::Instant now() const { return world_.now; }
  /// In lock-step: up to where the device has had its say.
  [[nodiscard]] sim::Instant here() const { return std::max(now(), granted_); }

  Port& port_;
  SessionOptions options_;
  std::shared_ptr<model::OutsideLogic> outside_;
  model::Scenario scenario_;
  model::World world_;
  sim::Record record_;
  model::FindingWatch watch_;
  std::unique_ptr<model::Simulation> simulation_;
  std::unique_ptr<model::Driver> driver_;
  SessionResult result_;
  sim::EntryId looked_at_ = sim::no_entry;    ///< of the record
  sim::EntryId alarm_cause_ = sim::no_entry;  ///< the entry at which the device last came on or did something
  bool was_on_ = true;
  sim::Instant granted_ = sim::start_of_run;
  std::uint64_t at_once_ = 0;
  Clock::time_point begun_;
  Clock::time_point second_begun_;
  std::uint64_t in_this_second_ = 0;
};

}  // namespace drybus::tools
