// A part of a site by itself: what goes wrong in one zone concerns that zone and whoever stands in the same rooms.
#pragma once

#include <vector>

#include "model/planning/wishes.h"
#include "model/site/site.h"

namespace drybus::model {

struct SitePart {
  Site site;                       ///< places as in the whole; of the devices only these
  std::vector<DeviceId> of_whole;  ///< by device of the part: which one it is in the whole
};

/// These devices, in the order of the whole. The wiring closes where the others were, so that whoever heard each other
/// still does.
SitePart part_of(const Site& whole, const std::vector<DeviceId>& devices);

}  // namespace drybus::model
