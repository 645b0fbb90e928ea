// Zones, site numbers and buses for a site that says only what is where: before make_plan gives out channels.
//
// Plates that share circuits have one zone; so have the plates of one room, unless modules tell them apart. A room
// without a plate goes, as a whole, to the nearest zone with enough channels left.
#pragma once

#include <string>
#include <vector>

#include "model/planning/plan.h"
#include "model/planning/wishes.h"

namespace drybus::model {

/// One stretch of bus that is planned, and why it ends where it does.
struct PlannedBus {
  std::vector<DeviceId> devices;  ///< in the order of the line
  double amperes = 0;             ///< that they draw together; 0: the family's bus feeds nobody
};

struct Allocation {
  Site site;  ///< with a zone on every plate, and its buses
  /// By module: plates that may address it, the wanted first; empty: any.
  std::vector<std::vector<DeviceId>> plates;
  std::vector<PlanClash> clashes;
  std::vector<std::string> notes;
  std::vector<PlannedBus> buses;  ///< only where the site left them open
};

/// Site numbers that are chosen avoid the factory's, the neighbours' and those of plates that are set already.
Allocation allocate(const Site& site, const SiteWishes& wishes);

}  // namespace drybus::model
