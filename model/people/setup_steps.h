// What people do to put devices in setup and to address modules, as steps, whatever means their families have: by a
// hold or by the supply; taken at once, with a confirmation, or asked for.
#pragma once

#include <vector>

#include "model/people/script.h"

namespace drybus::model {

Step wait_step(sim::Duration duration);

/// At which channel a plate stands when it enters setup.
std::uint8_t first_channel(const PlateFamily& family);

/// Whether the supply of the module, off and on, is its way into setup.
bool by_supply(const Site& site, DeviceId device);

/// The supply of one module off and on as often as its family counts, beginning afresh.
void add_supply_steps(const Site& site, DeviceId module, std::vector<Step>& steps);

/// What somebody does who stands before a device, so that it is in setup. `longer`: a button is held so much longer than
/// its family asks for.
void add_setup_steps(const Site& site, DeviceId device, sim::Duration longer, std::vector<Step>& steps);

/// Whether the module asks for its address as soon as it is in setup: the plate in setup answers with its next channel.
bool asks(const Site& site, DeviceId module);

/// In which an offered address has to be confirmed by a press on the module; zero: it is stored at once.
sim::Duration confirmed_within(const Site& site, DeviceId module);

}  // namespace drybus::model
