// drybus check --mutants: whether the scenarios notice wrong device logic.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

namespace drybus::tools {

/// Runs every mutant against the scenarios and prints what became of it, as text or JSON. Returns the exit
/// code: `exit_failed` when fewer than 95 % are killed.
int check_mutants(const std::vector<std::string>& paths, std::size_t jobs, bool as_json);

}  // namespace drybus::tools
