// Which files below some paths are scenarios.
#pragma once

#include <span>
#include <string>
#include <vector>

namespace drybus::tools {

/// Files that are named stand for themselves; below folders, every .yaml file that begins a scenario (a line `drybus:`),
/// in the order of their names. Throws Unusable for a path that does not exist.
std::vector<std::string> scenario_files(std::span<const std::string> paths);

}  // namespace drybus::tools
