// What `drybus panel` opens: a scenario, a lesson, or one of those that lie in a folder.
#pragma once

#include <string>

#include "tools/options/firmware_choice.h"
#include "tools/panel/workshop.h"

namespace drybus::tools {

/// A scenario (or a capsule), or a lesson with its story. Throws Unusable.
Task load_task(const std::string& path, const FirmwareChoice& firmware);

/// The scenarios and lessons of a folder by file name, each read and checked; what cannot be opened says why. Throws Unusable where
/// there is none that can.
Shelf read_shelf(const std::string& folder, const FirmwareChoice& firmware);

}  // namespace drybus::tools
