// The paper that a sheet is set on.
#pragma once

#include "tools/options/command_line.h"

namespace drybus::tools {

/// Adds --paper: a4 (ISO 216) unless said, or letter.
void offer_paper(CommandLine& line);

/// Whether US letter was asked for. Throws Unusable for any other paper.
bool letter_paper(const CommandLine& line);

}  // namespace drybus::tools
