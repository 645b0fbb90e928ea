// The telegrams of a run as a capture file that network analysers read. capture_format.h describes it.
#pragma once

#include <string>

#include "model/run/run.h"

namespace drybus::tools {

/// REQUIRES: fewer than 65,536 nodes, which every site has that was read from a file.
std::string pcapng(const model::Scenario& scenario, const sim::Record& record);

}  // namespace drybus::tools
