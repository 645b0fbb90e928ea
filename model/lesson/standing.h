// How things stand where a lesson stops, and what a pupil's hands make of it.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/findings/findings.h"
#include "model/lesson/lesson.h"
#include "model/world/world.h"

namespace drybus::model {

struct Standing {
  World world;
  std::vector<FindingId> found;  ///< by then, each once
};

/// The story up to a stop. Throws UsedUp when it never gets there.
Standing stand_at(const Scenario& story, const LessonStop& stop);

/// What came of a pupil's steps from there on.
struct Tried {
  Standing standing;     ///< `settling` after the last of them
  sim::Duration took{};  ///< until the last of them was done
  std::vector<std::uint32_t>
      misread;  ///< steps in which a press met another mode than the one that it was meant for
};

/// What has been pressed is given so long to arrive.
inline constexpr sim::Duration settling = std::chrono::seconds{2};

/// The story up to a stop at a note, the start or the end, then these steps of the installer in place of its own.
/// REQUIRES: the stop is of no other kind. Throws UsedUp.
Tried try_steps(const Scenario& story, const LessonStop& stop, std::span<const Step> steps);

/// The scenario that `try_steps` runs: it replays.
Scenario with_steps_from(const Scenario& story, const LessonStop& stop, std::span<const Step> steps);

/// The installer's own steps after the stop.
std::span<const Step> rest_of_story(const Scenario& story, const LessonStop& stop);

/// Whether all of it holds.
bool holds(const Scenario& scenario, const Standing& standing, const LessonCondition& condition);

/// The devices that have the quality, in the order of the site.
std::vector<DeviceId> devices_with(const Scenario& scenario, const World& world, const Quality& quality);

/// The number as things stand; nothing where there is none, such as the time left of a device that is not in setup.
std::optional<double> measured(const Scenario& scenario, const World& world, const Measure& measure);

}  // namespace drybus::model
