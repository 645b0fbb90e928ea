// The telegrams of a run as a capture file that network analysers read. capture_format.h describes it.
#pragma once

#include <string>

#include "model/run.h"

namespace drybus::tools {

std::string pcapng(const model::Scenario& scenario, const sim::Record& record);

}  // namespace drybus::tools
