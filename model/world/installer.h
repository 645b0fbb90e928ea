// What people do: each works through a script, one thing at a time, walking to what they touch.
#pragma once

#include "model/world/simulation.h"

namespace drybus::model {

/// Goes on with a person's script at the moment an event of theirs comes due.
void go_on(Simulation& simulation, std::uint32_t person, sim::EntryId cause);

/// How many steps of their script a person has turned to: those done and the one in hand, also when it is still a walk
/// away. A step that waits for its hour does not count.
std::size_t steps_begun(const PersonState& person);

/// Whether the person keeps buttons down at this moment.
bool is_holding(const PersonState& person);

/// Whether somebody standing at `from` can see the device.
bool in_sight(const Site& site, PlaceId from, DeviceId device);

}  // namespace drybus::model
