// What is wrong with a family's machines, or doubtful: looked for row by row, without running anything.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "model/family/family.h"

namespace drybus::model {

/// The times that rows begin, each with the event that its end is.
inline constexpr std::array timed_events = {
    std::pair{Event::time_out, Timer::time_out}, std::pair{Event::beacon, Timer::beacon}, std::pair{Event::ask, Timer::ask},
    std::pair{Event::confirm, Timer::confirm}, std::pair{Event::count, Timer::count}};

struct MachineRemark {
  bool plate = false;       ///< whose machine
  bool wrong = false;       ///< no device can be run with it; otherwise it is doubtful: surely not what was meant
  std::uint32_t line = 0;   ///< in the family's file; 0: about the whole machine
  std::string text;         ///< "state 'setup': nothing leads there"
  std::string expected;     ///< what would be right; may be empty
};

/// Everything that is wrong or doubtful, plates first, in the order of their lines. A machine of a thousand rows takes
/// milliseconds.
std::vector<MachineRemark> remarks_on(const Family& family);

}  // namespace drybus::model
