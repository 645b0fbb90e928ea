// Ways in which a run could have gone otherwise: changes to what people do, to what was so at the start, and to what
// happens by itself. Changes to people and to the start make another scenario; the others are carried out in the run.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <variant>
#include <vector>

#include "model/people/script.h"
#include "model/people/timetable.h"

namespace drybus::model {

/// Names a step of a scenario. `step` may be one past the last where something is put in at the end.
struct StepRef {
  std::uint32_t person = 0;
  std::uint32_t step = 0;
  friend auto operator<=>(const StepRef&, const StepRef&) = default;
};

namespace change {

/// The person goes there and takes as long, but does nothing: everything else stays where it was in time.
struct Skip {
  StepRef step;
};
/// The step is not there at all: what follows comes sooner.
struct Leave {
  StepRef step;
};
/// A press, a hold or a wait lasts this long.
struct Last {
  StepRef step;
  sim::Duration duration{};
};
/// These come before the step.
struct Insert {
  StepRef before;
  std::vector<Step> steps;
};
/// Every walk from one place to another takes this long.
struct Walk {
  PlaceId from = 0;
  PlaceId to = 0;
  sim::Duration duration{};
};
/// A second pair of hands, at the device of its first step; that one has an `at`.
struct Meanwhile {
  std::vector<Step> steps;
};
/// The module's memory when the run begins.
struct Memory {
  DeviceId module = no_device;
  ModuleMemory memory;
};
/// The module is of that family, as ModuleSpec::family counts them, with this memory when the run begins.
struct Generation {
  DeviceId module = no_device;
  std::uint16_t family = 0;
  ModuleMemory memory;
};
/// The plate's switches when the run begins.
struct Switches {
  DeviceId plate = no_device;
  std::uint8_t site = 0;
  std::uint8_t zone = 0;
};
/// The timer that was due then does not come due.
struct NoExpiry {
  DeviceId device = no_device;
  Timer timer = Timer::time_out;
  sim::Instant at{};
};
/// The telegram that was lost to the receiver then is heard all the same.
struct Arrive {
  DeviceId receiver = no_device;
  DeviceId sender = no_device;
  sim::Instant at{};
};
/// The device is in setup at that moment, however it got there; a plate stands at `channel`.
struct InSetup {
  DeviceId device = no_device;
  sim::Instant at{};
  std::uint8_t channel = 0;
};

}  // namespace change

using Change =
    std::variant<change::Skip, change::Leave, change::Last, change::Insert, change::Walk, change::Meanwhile,
                 change::Memory, change::Generation, change::Switches, change::NoExpiry, change::Arrive, change::InSetup>;
using Changes = std::vector<Change>;

/// Whether the change makes another scenario, and nothing more has to be done in the run.
bool is_scripted(const Change& change);

/// A person's script with changes.
struct AlteredScript {
  std::vector<Step> steps;
  std::vector<std::uint32_t> moved_to;  ///< for every step of the original and its end: where it begins now

  /// The step of the original that one of these is; nothing for what was put in or stands in for another.
  [[nodiscard]] std::optional<std::uint32_t> origin(std::uint32_t step) const;
};
AlteredScript altered_script(const Scenario& original, std::uint32_t person, std::span<const Change> changes);

/// Makes the changes to what was so at the start, and adds the people who do something meanwhile.
void alter_start(std::span<const Change> changes, Scenario& scenario);
void add_helpers(std::span<const Change> changes, Scenario& scenario);

/// A scenario with changes. Steps are named as they are in the original.
class Altered {
 public:
  /// Several changes of one step apply together; the second of two that say how long it lasts wins.
  Altered(const Scenario& original, std::span<const Change> changes);

  [[nodiscard]] const Scenario& scenario() const { return scenario_; }

  /// The moment that corresponds to one of the original run: as far into the step that the installer was at. The end
  /// of a step where that has become shorter.
  [[nodiscard]] sim::Instant moment(sim::Instant original) const;

  /// The step of the original that a step of this scenario is; nothing for what was put in or stands in for another.
  [[nodiscard]] std::optional<StepRef> origin(const StepRef& step) const;
  [[nodiscard]] std::uint32_t original_length(std::uint32_t person) const {
    return static_cast<std::uint32_t>(scripts_[person].moved_to.size() - 1);
  }

 private:
  Scenario scenario_;
  Timetable before_;
  Timetable after_;
  std::vector<AlteredScript> scripts_;  ///< by person; the steps themselves are in the scenario
};

/// The step in progress at a moment; one past the last when the person has nothing left to do.
StepRef step_at(const Scenario& scenario, std::uint32_t person, sim::Instant at);

}  // namespace drybus::model
