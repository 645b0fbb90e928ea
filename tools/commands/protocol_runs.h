// What run, check, why and sweep do for scenarios that name a protocol of their own.
#pragma once

#include <filesystem>
#include <initializer_list>
#include <string>

#include "model/protocol/protocol.h"
#include "tools/options/command_line.h"

namespace drybus::tools {

/// Whether a file is a scenario that names its protocol, and so is none of the keypad families'.
bool names_protocol(const std::filesystem::path& path);

/// Reads one. Throws Unusable with everything that is wrong with it.
protocol::Scenario load_protocol_scenario(const std::string& path);

/// Throws Unusable for those of these options that were given: they do not know the protocol yet.
void refuse_options(const CommandLine& line, const protocol::Scenario& scenario,
                    std::initializer_list<const char*> options);

/// What the commands do for such a scenario. Throw Unusable for options that do not know the protocol yet.
int run_of_protocol(const CommandLine& line);
int why_of_protocol(const CommandLine& line);
int sweep_of_protocol(const CommandLine& line);

}  // namespace drybus::tools
