// The way to a report, question by question, as on the telephone: which devices, which rooms, plates and modules, what
// was done, what is seen, what they call for.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

namespace drybus::tools {

/// What comes after the lines that were answered so far.
struct IntakeTurn {
  std::string prompt;                ///< the next question; empty when the report is complete
  std::vector<std::string> choices;  ///< where there are any
  std::string report;                ///< its text, when it is
  std::string refused;               ///< why the last line is no answer to its question; empty: it is one
  std::string so_far;  ///< the report as far as it is told, as soon as rooms, plates and modules are complete
};

/// REQUIRES: none of the lines but the last is refused. `path`: where the report will lie, for finding families.
IntakeTurn intake_turn(const std::vector<std::string>& lines, const std::filesystem::path& path);

}  // namespace drybus::tools
