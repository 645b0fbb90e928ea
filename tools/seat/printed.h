// What firmware prints: lines of the run's record, not of the terminal.
#pragma once

#include "model/firmware/logic.h"

namespace drybus::tools {

/// What this thread's firmware prints from now on is that device's; null: nobody's, and is dropped.
void printing_for(drybus_device* device);

/// A line that was begun and not ended is a line.
void end_printed_line();

/// std::cout and std::cerr print there, too, while a handler runs. Once.
void take_over_streams();

}  // namespace drybus::tools
