// The commands for a class: lessons with questions, fault-finding, a lesson that travels.
#pragma once

#include "tools/commands/command.h"

namespace drybus::tools {

int teach_command(Arguments arguments);
int exercise_command(Arguments arguments);
int lesson_command(Arguments arguments);

}  // namespace drybus::tools
