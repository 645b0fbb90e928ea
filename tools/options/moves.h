// The options of a search through what an installer can do: which moves, how often, how far.
#pragma once

#include "model/hunt/moves.h"
#include "sim/explore.h"
#include "tools/options/command_line.h"

namespace drybus::tools {

/// Adds --with, --without, --budget, --depth, --states and --memory. To be called before parse.
void offer_moves(CommandLine& line);

/// What they say. Throws Unusable.
model::MoveBudget read_moves(const CommandLine& line);
sim::SearchBounds read_bounds(const CommandLine& line);

}  // namespace drybus::tools
