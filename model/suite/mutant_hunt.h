// A scenario that would notice a mutant, found by going through what an installer can do until the mutant can
// be told from the reference model.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/people/script.h"
#include "model/suite/mutant_pair.h"
#include "model/suite/mutants.h"
#include "sim/explore.h"

namespace drybus::model {

/// Three passes, until one finds something.
struct MutantHuntOptions {
  static constexpr std::uint64_t usual_states = 60'000;
  static constexpr std::uint64_t memory = std::uint64_t{1} << 30;
  /// From the start of a small site of each family, with nothing done yet: presses, holds and waits.
  sim::SearchBounds plain{.depth = 20, .states = usual_states, .memory_bytes = memory};
  /// The same with long presses, one slip, one power cut and one switch set otherwise.
  sim::SearchBounds with_faults{.depth = 8, .states = usual_states / 3 * 2, .memory_bytes = memory};
  /// Then, with these, from where each scenario ends.
  sim::SearchBounds from_end{.depth = 4, .states = usual_states / 15, .memory_bytes = memory};
};

/// The first pass may meet so many states, the others less in proportion. REQUIRES: at least 15.
inline MutantHuntOptions hunt_options_for(std::uint64_t states) {
  MutantHuntOptions options;
  options.plain.states = states;
  options.with_faults.states = states / 3 * 2;
  options.from_end.states = states / 15;
  return options;
}

struct Killer {
  Scenario scenario;        ///< passes with the reference model and fails with the mutant
  std::size_t from = 0;     ///< index of the scenario whose site, and perhaps script, it has
  bool from_start = false;  ///< only the site
  std::vector<Step> steps;  ///< the installer's, after that
  Difference difference;    ///< what its last check looks at
};

struct MutantHunt {
  std::optional<Killer> killer;
  std::size_t starts = 0;    ///< situations that were gone on from
  std::uint64_t states = 0;  ///< pairs of worlds met, in all
  bool exhausted = false;  ///< without a killer: nothing new came from any start, within the budget of moves
};

MutantHunt hunt_killer(const Mutant& mutant, std::span<const Scenario* const> scenarios,
                       const MutantHuntOptions& options = {});

}  // namespace drybus::model
