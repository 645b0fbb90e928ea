// The machines that a family has which says nothing of its own: setup by a gesture, a beacon, channels in steps; a module
// that takes the first offer in setup. They are written in the words of family files.
#pragma once

#include "model/family/machine.h"

namespace drybus::model {

/// `announces_leaving`: whether the plate tells the bus that it leaves setup.
Machine usual_plate_machine(bool announces_leaving);
Machine usual_module_machine();

/// Whether a plate with that machine sends `left` as it leaves some state.
bool announces_leaving(const Machine& machine);

}  // namespace drybus::model
