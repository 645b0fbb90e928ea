// Which files below some paths are scenarios.
#pragma once

#include <filesystem>
#include <span>
#include <string>
#include <vector>

namespace drybus::tools {

/// Whether a file begins a scenario: a family, a site or a report begins with another key.
bool begins_scenario(const std::filesystem::path& path);

/// Whether a file begins a report.
bool begins_report(const std::filesystem::path& path);

/// Files that are named stand for themselves; below folders, every .yaml file that begins a scenario (a line `drybus:`),
/// in the order of their names. Throws Unusable for a path that does not exist.
std::vector<std::string> scenario_files(std::span<const std::string> paths);

}  // namespace drybus::tools
