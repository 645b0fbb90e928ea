// How devices are put in setup and how modules get an address there, whatever means their families have: by a hold or by
// the supply; taken at once, with a confirmation, or asked for.
#pragma once

#include <string>
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

/// What somebody does who stands before a module, so that it is in setup. `longer`: a button is held so much longer than
/// its family asks for.
void add_setup_steps(const Site& site, DeviceId module, sim::Duration longer, std::vector<Step>& steps);

/// Whether the module asks for its address as soon as it is in setup: the plate in setup answers with its next channel.
bool asks(const Site& site, DeviceId module);

/// In which an offered address has to be confirmed by a press on the module; zero: it is stored at once.
sim::Duration confirmed_within(const Site& site, DeviceId module);

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
