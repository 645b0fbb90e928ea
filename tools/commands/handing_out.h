// What belongs to handing the program out: names for completions; manual pages, completions and the reference.
#pragma once

#include "tools/commands/command.h"

namespace drybus::tools {

int names_command(Arguments arguments);
int reference_command(Arguments arguments);

}  // namespace drybus::tools
