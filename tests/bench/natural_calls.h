// Telephone calls as people make them, whose truth is known.
//
// What counts as a call
//
// - What was meant to be done works. One or two things went wrong (slips about three times as often as faults, one in ten of
//   them in no catalogue), and something is out of step now. Of two each has left its own difference.
// - People pause, walk and wait longer or shorter than they say, and do not tell of every pause.
// - Three to eight things are said: first what somebody calls for, which is so; then what else comes to mind, about as often
//   odd as ordinary. "The others are on" is one thing said. Of two things that went wrong each shows in something that is
//   said, once at least. Nothing is said twice.
// - One in fifty of the other things said is wrong; one in twelve is marked as unsure, and one in seven of those is wrong.
//
// An answer to a check is wrong as often.
#pragma once

#include <vector>

#include "tests/bench/natural_mischief.h"

namespace drybus::bench {

enum class Richness : std::uint8_t {
  thin,     ///< three or four things are said
  natural,  ///< four to six
  full      ///< seven or eight
};

struct NaturalCall {
  std::uint64_t seed = 0;
  Richness richness = Richness::natural;
  model::Report report;
  model::Scenario truth;  ///< what really was and was done
  model::World world;     ///< where it ended
  std::vector<NaturalCause> causes;
};

/// The call of a seed; the same on every machine. `slips`: 1 or 2.
NaturalCall make_natural_call(const Families& families, std::uint64_t seed, std::size_t slips);

}  // namespace drybus::bench
