// How a person puts a device in setup, in words.
#pragma once

#include <string>

#include "model/site/site.h"

namespace drybus::model {

/// "hold M1 local for 3.5 s", or "switch M1's supply off and on 3 times, each time on for less than 3 s".
std::string way_into_setup(const Site& site, DeviceId device, bool capital = false);

/// Why a device entered setup when it was told to: "its button was held long enough".
std::string why_in_setup(const Site& site, DeviceId device);

/// What is done on the plate so that a module takes its address: "press P1 accept"; where the module asks for one, nothing.
std::string offer_sentence(const Site& site, DeviceId plate, DeviceId module);

}  // namespace drybus::model
