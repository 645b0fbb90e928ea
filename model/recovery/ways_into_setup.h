// How a cure puts devices in setup whose families have other ways than a hold: by the supply, or by asking.
#pragma once

#include <vector>

#include "model/people/script.h"
#include "model/site/site.h"

namespace drybus::model {

/// At which channel a plate stands when it enters setup.
std::uint8_t first_channel(const PlateFamily& family);

/// Whether the supply of the module, off and on, is its way into setup.
bool by_supply(const Site& site, DeviceId device);

/// The supply of one module off and on as often as its family counts, beginning afresh.
void add_supply_steps(const Site& site, DeviceId module, std::vector<Step>& steps);

}  // namespace drybus::model
