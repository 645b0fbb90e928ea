// drybus check --mutants: whether the scenarios notice wrong device logic.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/suite/mutant_hunt.h"

namespace drybus::tools {

struct MutantCheck {
  std::vector<std::string> paths;
  std::size_t jobs = 0;  ///< threads; 0: as many as there are cores
  bool as_json = false;
  std::uint64_t states = model::MutantHuntOptions::usual_states;  ///< see there
  std::optional<std::string>
      killers;  ///< a folder for the scenarios that would have noticed what the suite does not
  bool rows = false;  ///< one thing wrong in the rows of the families' machines, instead of the usual mutants
};

/// Runs every mutant against the scenarios and prints what became of it, as text or JSON. Returns the exit
/// code: `exit_failed` when fewer than 95 % are killed.
int check_mutants(const MutantCheck& check);

}  // namespace drybus::tools
