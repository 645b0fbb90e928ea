// How well a load goes with what somebody says of it.
#pragma once

#include <string>

#include "model/diagnosis/retelling.h"

namespace drybus::model {

/// `what`: "lit", "dark" or a level such as "40 %". A load that fades is nearly what it will be.
Match match_load(const LoadState& load, sim::Instant now, const std::string& what);

}  // namespace drybus::model
