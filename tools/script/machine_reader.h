// Reads the machine of a family's plate or module: its states, its rows, which pattern shows when several apply.
#pragma once

#include <functional>
#include <optional>

#include "model/family/machine.h"
#include "tools/script/complaints.h"
#include "tools/script/fields.h"

namespace drybus::tools {

/// What the node says, compiled; or complaints, and an unusable machine.
model::Machine read_machine(const Node& node, bool plate, Complaints& complaints);

}  // namespace drybus::tools
