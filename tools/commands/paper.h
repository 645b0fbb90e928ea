// What sheets are printed on.
#pragma once

#include "tools/options/command_line.h"

namespace drybus::tools {

/// Whether --paper asks for letter instead of A4. Throws Unusable for anything else.
bool letter_paper(const CommandLine& line);

}  // namespace drybus::tools
