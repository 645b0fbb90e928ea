// --language: in which words people are spoken to.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "tools/options/command_line.h"
#include "tools/words/languages.h"

namespace drybus::tools {

/// `help` has one {}, in whose place the languages come.
void offer_language(CommandLine& line, std::string_view help);
/// One that the program carries; nothing where none was said. Throws Unusable for any other.
[[nodiscard]] std::optional<std::string> read_language(const CommandLine& line);

}  // namespace drybus::tools
