// A first site, asked for question by question: at a terminal, or from lines that are piped in.
#pragma once

#include "tools/schedule/schedule.h"

namespace drybus::tools {

/// Asks on standard output and reads standard input until the site is complete; asks again where an answer cannot be
/// used. Throws Unusable when the input ends before. `family` may be null.
Schedule asked_schedule(const model::Family* family);

}  // namespace drybus::tools
