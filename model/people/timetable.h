// When each step of a script begins. Every duration is known beforehand, so nothing has to be run to say so.
#pragma once

#include <optional>
#include <vector>

#include "model/people/script.h"

namespace drybus::model {

/// Where a person has to stand for a step; nothing when the step can be done from anywhere.
std::optional<PlaceId> place_for(const Site& site, const Step& step);

/// The place of the first step that has one; the first place of the site when none has.
PlaceId first_place(const Site& site, const std::vector<Step>& script);

/// How long a step takes once the person is there: the press or the wait, and the pause after an action.
sim::Duration time_taken(const Step& step, const HumanTimes& times);

/// A step whose `at` has gone by when its person comes to it.
struct LateStep {
  std::size_t step = 0;
  sim::Instant reached{};
};

struct Timetable {
  std::vector<sim::Instant> begins;  ///< one for each step: when the person turns to it, walks included
  sim::Instant ends{};               ///< when the person has nothing left to do
  std::vector<LateStep> late;
};

/// A person's timetable: they wait for a step's `at`, then walk, then act. A late step begins when it is
/// reached. Times end at `longest_run`: what would be later is put there.
Timetable timetable(const Site& site, const HumanTimes& times, const Person& person);

/// Ten years; nothing in a scenario goes on for longer.
inline constexpr sim::Duration longest_run = std::chrono::hours{24 * 3653};

}  // namespace drybus::model
