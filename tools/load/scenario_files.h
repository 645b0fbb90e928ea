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

/// Whose scenarios are wanted: the keypad families', or those of other protocols, too.
enum class Speaking : unsigned char { keypads, anything };

/// Files that are named stand for themselves; below folders, every .yaml file that begins a scenario (a line `drybus:`),
/// in the order of their names; those of other protocols are left out unless they are wanted. Throws Unusable for a path that does not exist.
std::vector<std::string> scenario_files(std::span<const std::string> paths, Speaking speaking = Speaking::keypads);

}  // namespace drybus::tools
