// drybus bridge: another process, or a board on a serial line, is one device of the site.
#pragma once

#include "tools/options/command_line.h"

namespace drybus::tools {

int bridge_command(std::span<const std::string> arguments);

}  // namespace drybus::tools
