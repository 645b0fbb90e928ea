// drybus check --mutants: whether the scenarios notice a family with one thing wrong.
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
};

/// Runs every mutant against the scenarios and prints what became of it, as text or JSON. Returns the exit
/// code: `exit_failed` when fewer than 95 % are killed, or shown to make no difference.
int check_mutants(const MutantCheck& check);

}  // namespace drybus::tools
