// Loading what a command works on, with every problem told.
#pragma once

#include <string>

#include "tools/script/reader.h"

namespace drybus::tools {

/// Reads a scenario. Throws Unusable with everything that is wrong with it.
LoadedScenario load_scenario(const std::string& path);

}  // namespace drybus::tools
