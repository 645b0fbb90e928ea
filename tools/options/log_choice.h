// The options --log, --log-level and --log-format: what happens to a program that goes on for long, for whoever looks after it.
#pragma once

#include <string>
#include <vector>

#include "tools/log/log.h"
#include "tools/options/command_line.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// Adds them to a command. `what` is the help of --log. To be called before parse.
void offer_log(CommandLine& line, const char* what);

/// What they say, for the log of `command`; nothing is written over what was read. `on_terminal`: warnings are shown there,
/// too. Throws Unusable.
Log read_log(const CommandLine& line, std::string command, const std::vector<SourceFile>& read,
             bool on_terminal = false);

}  // namespace drybus::tools
