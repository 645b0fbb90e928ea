// Runs a cure in a world, step by step, and keeps what could be seen and what came of it.
#pragma once

#include <span>
#include <string>
#include <vector>

#include "model/people/script.h"
#include "model/recovery/recover.h"
#include "model/world/world.h"

namespace drybus::model {

/// Somebody presses a plate's `assign`, not having just done so: what it meets.
struct AssignPress {
  std::size_t step = 0;
  DeviceId plate = no_device;
  bool in_setup = false;  ///< the plate
  Address address;        ///< as the plate stands
  /// Modules in setup that hear the plate when everything is sound, a neighbour's too.
  std::vector<DeviceId> listeners;
};

struct Rehearsal {
  World world;  ///< when the last step is over
  std::vector<AssignPress> offers;
  /// By step, by device: what its indicator shows when the step is over.
  std::vector<std::vector<Pattern>> shown;
  /// The same for somebody who watches: the strongest pattern that came since the last press began, or shows then.
  std::vector<std::vector<Pattern>> answered;
};

/// Offers that do not meet exactly the modules that they are meant for, in words. A module is meant to take its
/// address; one that comes up at full (`lit`) is also meant to take another site number for the while.
std::vector<std::string> offers_amiss(const Site& site, const Aim& aim, const std::vector<DeviceId>& lit,
                                      const Rehearsal& rehearsal);

/// The scenario's installer does the steps, from where they stand. `watched`: keep what the indicators show.
Rehearsal rehearse(const Scenario& scenario, const World& world, std::span<const Step> steps, bool watched);

}  // namespace drybus::model
