// What the caller is not sure of is likelier to have been otherwise.
#pragma once

#include <vector>

#include "model/diagnosis/placed_cause.h"

namespace drybus::model {

/// Makes the slips at steps of which nobody is sure more likely, and wrong switches of plates that nobody has read.
void weigh_what_is_unsure(const Report& report, std::vector<PlacedChange>& placed);

}  // namespace drybus::model
