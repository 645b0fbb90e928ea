// What goes wrong in a natural call: slips and faults that a catalogue names, and some that it may not.
#pragma once

#include <optional>
#include <string>

#include "tests/bench/natural_install.h"

namespace drybus::bench {

struct NaturalCause {
  TrueCause named;         ///< as a catalogue would name it
  bool catalogued = true;  ///< false: no catalogue has it; only how things stand in the end can be right
};

/// Makes one thing go wrong in `truth`, whose steps stand for those of `told`. Nothing when what was drawn cannot be made
/// there. The same draws make the same thing, whatever went wrong before.
std::optional<NaturalCause> go_wrong(const model::Scenario& told, model::Scenario& truth, Draw& draw);

}  // namespace drybus::bench
