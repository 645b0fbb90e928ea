// The commands from the schedule of a building to its handover. plan_command stands with the others.
#pragma once

#include "tools/commands/command.h"

namespace drybus::tools {

int site_command(Arguments arguments);
int handover_command(Arguments arguments);

}  // namespace drybus::tools
