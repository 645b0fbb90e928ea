// drybus check --coverage: what of the devices' state diagrams the scenarios visit.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace drybus::tools {

/// Runs the scenarios and prints states, transitions and time-outs with how often each was visited, as text
/// or JSON. Returns the exit code: `exit_failed` when something that can be visited was not.
int check_coverage(const std::vector<std::string>& paths, std::size_t jobs, bool as_json);

}  // namespace drybus::tools
