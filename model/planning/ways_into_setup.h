// How long the ways into setup take, and which of them lead to an address.
#pragma once

#include <string>

#include "model/people/setup_steps.h"

namespace drybus::model {

/// How long it takes to put a device in setup, for somebody who stands before it.
struct WayTimes {
  sim::Duration whole{};  ///< until the next thing can be done
  sim::Duration since{};  ///< of that, for how long it has been in setup then
};
WayTimes way_times(const Site& site, const HumanTimes& times, DeviceId device);

/// Why the plate cannot give the module an address although that hears it, by what their families can do: "P1 answers no
/// module that asks"; empty: it can.
std::string why_not_addressed(const Site& site, DeviceId plate, DeviceId module);

}  // namespace drybus::model
