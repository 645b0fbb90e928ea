// Which rows of its family's machine a device took at one moment of a run.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "model/people/script.h"

namespace drybus::tools {

/// "line 84: setup, assign heard: if offer whole: store address; to normal", in the order in which they were taken; empty when
/// it took none then. The run is of the family's own devices.
std::vector<std::string> rows_taken(const model::Scenario& scenario, std::uint64_t seed, model::DeviceId device,
                                    sim::Instant at);

}  // namespace drybus::tools
