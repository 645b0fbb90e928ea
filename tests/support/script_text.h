// Texts of scenarios for tests of the reader, and what a reading came to in plain lines.
#pragma once

#include <string>
#include <vector>

#include "tools/script/reader.h"

namespace drybus::tests {

/// A whole scenario in memory: two places, plate P1 in the hall, modules M1 (hall) and M2 (attic), and these
/// steps (lines of YAML, each item beginning with "- "). The steps begin in line `first_step_line`.
std::string scenario_with(const std::string& steps);
inline constexpr int first_step_line = 12;

/// The same with one of its lines replaced.
std::string scenario_with_line(int line, const std::string& replacement);

/// Read as if it lay among the shipped scenarios, so that their families are found.
tools::Reading<tools::LoadedScenario> read(const std::string& text);

/// Fails the test with all problems when it cannot be read.
tools::LoadedScenario must_read(const std::string& text);

/// "12:5 unknown key 'x' | one of: a, b | a" for each problem: place, message, what was expected, suggestion.
std::vector<std::string> problems_of(const std::string& text);

/// Everything that a scenario says, line by line, marks and files apart: two scenarios are alike when these
/// are.
std::string said_by(const tools::LoadedScenario& loaded);

/// All YAML files below scenarios/ that are scenarios.
std::vector<std::string> shipped_scenarios();

}  // namespace drybus::tests
