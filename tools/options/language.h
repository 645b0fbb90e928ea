// --language: in which words people are spoken to.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "tools/options/command_line.h"
#include "tools/words/languages.h"

namespace drybus::tools {

/// What the environment asks for, as gettext reads it: LC_ALL, else LC_MESSAGES, else LANG, of which empty ones do not count.
/// "en" for a language that the program does not carry.
[[nodiscard]] std::string language_of_environment();

/// The same, unless words of a command line name another with --language: for what is said before they are understood. Throws
/// Unusable for one that the program does not carry.
[[nodiscard]] std::string language_asked(Arguments words);

/// `name`, where the program carries it. Throws Unusable for any other.
const std::string& known_language(const std::string& name);

/// "de or en"
[[nodiscard]] std::string language_choice();

/// For a command that means more by it than the words that it speaks itself: `help` says what. Others have it anyway.
void offer_language(CommandLine& line, const std::string& help);
/// Nothing where none was said.
[[nodiscard]] std::optional<std::string> read_language(const CommandLine& line);

}  // namespace drybus::tools
