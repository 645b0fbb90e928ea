// What a device outside the simulation did in a session that was saved: the key `outside` of a scenario.
#pragma once

#include "model/people/script.h"
#include "tools/script/fields.h"

namespace drybus::tools {

/// Reads it, and puts the device's logic into the scenario's site (model/firmware/outside.h).
void read_outside(const Node& node, model::Scenario& scenario, Complaints& complaints);

/// Why a device outside tells a mode: "gesture", in the order of model::ModeReason.
Words mode_reasons();

}  // namespace drybus::tools
