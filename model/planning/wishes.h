// What a site leaves to planning: plates whose switches nobody has chosen yet, and the plates that a module names.
#pragma once

#include <vector>

#include "model/site/site.h"

namespace drybus::model {

struct SiteWishes {
  std::vector<bool> open_plates;              ///< by plate: it has no switch settings yet
  std::vector<std::vector<DeviceId>> plates;  ///< by module: the plates that it names; they share a zone
  bool open_bus = false;                      ///< who shares a bus is not said

  [[nodiscard]] bool any_open() const;
};

/// None: every plate is set, no module names one.
SiteWishes no_wishes(const Site& site);

}  // namespace drybus::model
