// Reads scenarios of a protocol that is none of the keypad families'.
#pragma once

#include <filesystem>
#include <optional>
#include <string>

#include "model/iec62386/script.h"
#include "model/protocol/protocol.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// What stands behind `protocol:` in a line of its own near the top of a file; nothing where there is none, or the file is
/// no scenario.
std::optional<std::string> protocol_named_in(const std::filesystem::path& path);

/// Reads a scenario that names its protocol. Everything that is wrong with it is told, an unknown protocol, too.
Reading<protocol::Scenario> read_protocol_scenario(const std::filesystem::path& path,
                                                   const ReadOptions& options = {});
Reading<protocol::Scenario> read_protocol_scenario_text(std::string text, const std::filesystem::path& path,
                                                        const ReadOptions& options = {});

/// The same, as this protocol's own.
Reading<iec62386::Scenario> read_line_scenario(const std::filesystem::path& path,
                                               const ReadOptions& options = {});
Reading<iec62386::Scenario> read_line_scenario_text(std::string text, const std::filesystem::path& path,
                                                    const ReadOptions& options = {});

}  // namespace drybus::tools
