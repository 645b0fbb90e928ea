// What a site leaves to planning, and what it asks for: plates whose switches nobody has chosen yet, the plates that a
// module names, loads that nobody may switch.
#pragma once

#include <vector>

#include "model/site/site.h"

namespace drybus::model {

struct SiteWishes {
  std::vector<bool> open_plates;              ///< by plate: it has no switch settings yet
  std::vector<std::vector<DeviceId>> plates;  ///< by module: the plates that it names; they share a zone
  std::vector<bool> do_not_switch;            ///< by module
  bool open_bus = false;                      ///< who shares a bus is not said

  [[nodiscard]] bool any_open() const;
  /// Whether that module's load is not to be switched.
  [[nodiscard]] bool left_alone(std::size_t module) const {
    return module < do_not_switch.size() && do_not_switch[module];
  }
};

/// None: every plate is set, no module names one.
SiteWishes no_wishes(const Site& site);

}  // namespace drybus::model
