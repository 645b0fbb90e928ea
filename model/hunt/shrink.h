// The smallest scenario that still fails the same way, and what in it is free.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/people/change.h"
#include "model/run/run.h"

namespace drybus::model {

/// Why a scenario fails: a check that does, or a finding. Devices go by name, for ids shift when others are
/// removed.
struct FailureReason {
  std::optional<FindingId> finding;
  std::string device;          ///< empty for a check of findings
  Fact fact = Fact::findings;  ///< of the check, as the next two
  std::vector<std::string> wanted;
  std::string actual;
  /// How it came about, without times: how modes ended, what was lost and why, what people did; nearest first.
  std::vector<std::string> chain;
  friend bool operator==(const FailureReason&, const FailureReason&) = default;
};

/// The first finding of that kind, or the first check that fails; nothing when there is none.
std::optional<FailureReason> reason_to_fail(const Scenario& scenario, std::optional<FindingId> finding);

/// Whether the scenario comes to its end, and fails for that reason, come about in the same way, whatever else it does.
bool fails_by(const Scenario& scenario, const FailureReason& reason);

/// The checks that fail, each as "M1.mode is setup"; a smaller scenario has no others. Nothing when it does not fail for
/// that reason.
std::optional<std::vector<std::string>> failing_by(const Scenario& scenario, const FailureReason& reason);

/// "M2.address is not 23/4/2 (in fact none)", "setup-split of P1".
std::string to_string(const FailureReason& reason);
/// The same for people, in the words that are spoken.
std::string spoken(const FailureReason& reason);

/// A time in the smallest scenario that can be another.
struct FreeTime {
  enum class Kind : std::uint8_t {
    wait,
    press,
    hold,
    at,    ///< the step begins then
    walk,  ///< from one place to another, whenever it is walked
  };
  Kind kind = Kind::wait;
  StepRef step;             ///< of the smallest scenario; not for walks
  PlaceId from = no_place;  ///< walks only, as `to`
  PlaceId to = no_place;
  sim::Duration now{};
  sim::Duration least{};     ///< one step of the resolution less and it no longer fails, or is no time at all
  sim::Duration greatest{};  ///< likewise, upwards; when `open_ended` it failed with this too
  bool open_ended = false;
};

/// Times are tried in steps of this.
inline constexpr sim::Duration shrink_resolution = std::chrono::milliseconds{100};
/// Times are tried up to this much longer.
inline constexpr sim::Duration longest_tried = std::chrono::hours{1};

struct ShorterWait {
  StepRef step;  ///< of the original
  sim::Duration before{};
  sim::Duration after{};
};

struct Shrunk {
  Scenario scenario;
  std::vector<StepRef> kept;  ///< for each step left, which of the original it is; people first, then steps
  std::vector<StepRef> removed;           ///< steps of the original
  std::vector<DeviceId> removed_devices;  ///< of the original
  std::vector<PlaceId> kept_places;       ///< for each place left, which of the original it is
  std::vector<ShorterWait> shorter;
  std::vector<FreeTime> free;
  std::size_t runs = 0;  ///< how many scenarios were tried
};

/// REQUIRES: fails_by(scenario, reason). No check fails in the result that passed in the scenario. No step of the result can be left out, no check and no device that
/// nothing refers to; no wait can be one step of the resolution shorter.
Shrunk shrink(const Scenario& scenario, const FailureReason& reason);

/// The scenario with another value for one of its free times.
Scenario with_time(const Scenario& scenario, const FreeTime& free, sim::Duration time);

/// The scenario without a device; nothing when a step, a check or a named link refers to it, or when more
/// than two links meet there. Two links that meet become one.
std::optional<Scenario> without_device(const Scenario& scenario, DeviceId device);

}  // namespace drybus::model
