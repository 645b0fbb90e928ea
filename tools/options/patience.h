// The options --within and --known: which differences between two runs are none, or are as they should be.
#pragma once

#include <vector>

#include "tools/observed/known.h"
#include "tools/options/command_line.h"

namespace drybus::tools {

struct Patience {
  sim::Duration within{};  ///< the same thing so far apart in time is no difference
  std::vector<KnownDifference> known;
};

/// Adds both. To be called before parse.
void offer_patience(CommandLine& line);
/// Throws Unusable.
Patience read_patience(const CommandLine& line);

/// Says on standard error which entries of the list nothing was met of.
void tell_unmet(const std::vector<KnownDifference>& known, const std::vector<bool>& met);

}  // namespace drybus::tools
