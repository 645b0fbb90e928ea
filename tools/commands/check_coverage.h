// drybus check --coverage: what of the families' machines the scenarios come through.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "model/suite/coverage.h"
#include "tools/commands/check_suite.h"

namespace drybus::tools {

/// Runs them all on `jobs` threads, and counts.
model::Coverage coverage_of(const Suite& suite, std::size_t jobs);

/// Runs the scenarios and prints rows, states, patterns and times of each family's machines with how often each was come
/// through, as text or JSON. Returns the exit code: `exit_failed` when something that there can be never was.
int check_coverage(const std::vector<std::string>& paths, std::size_t jobs, bool as_json);

}  // namespace drybus::tools
