// Completion for zsh: https://zsh.sourceforge.io/Doc/Release/Completion-System.html (_arguments, _describe)
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "tools/reference/manual.h"
#include "tools/reference/values.h"

namespace drybus::tools {

namespace {

constexpr std::string_view zsh_head = R"sh(#compdef drybus
# Completion of drybus for zsh. Made by drybus reference from the program's own help; not to be edited.

# _drybus_names KIND: devices, questions or families, asked of the first word that is a file.
_drybus_names() {
  local word file=
  for word in ${words[2,-1]}; do
    [[ -f ${~word} ]] && { file=${~word}; break }
  done
  local -a names
  names=(${(f)"$(_call_program names ${(q)drybus_program} names $1 ${(q)file} 2>/dev/null)"})
  compadd -a names
}

_drybus() {
  local drybus_program=$words[1] curcontext=$curcontext state line
  typeset -A opt_args
  local -a drybus_commands
)sh";

/// Within single quotes, and within the brackets and colons of _arguments.
std::string zsh_quoted(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\'') {
      out += "'\\''";
    } else if (c == '[' || c == ']' || c == ':' || c == '\\') {
      out += '\\';
      out += c;
    } else {
      out += c == '\n' ? ' ' : c;
    }
  }
  return out;
}

std::string action(ValueKind kind, const OptionDescription* option) {
  switch (kind) {
    case ValueKind::file:
      return "_files";
    case ValueKind::folder:
      return "_files -/";
    case ValueKind::choice:
      return option == nullptr ? "" : fmt::format("({})", fmt::join(choices_in(option->text), " "));
    case ValueKind::devices:
    case ValueKind::questions:
    case ValueKind::families:
      return fmt::format(" _drybus_names {}", asked_names(kind));  // the blank: with no words before ours
    case ValueKind::none:
      break;
  }
  return "";
}

std::string option_spec(const OptionDescription& option) {
  const std::string value =
      option.takes_value ? fmt::format(":{}:{}", placeholder(option), action(value_kind(option), &option))
                         : "";
  const std::string text = fmt::format("[{}]{}", zsh_quoted(option.text), value);
  const std::string takes = option.takes_value ? "=" : "";
  if (option.letter == '\0') return fmt::format("      '*--{}{}{}' \\\n", option.name, takes, text);
  return fmt::format("      '*--{}{}{}' '*-{}{}{}' \\\n", option.name, takes, text, option.letter,
                     option.takes_value ? "+" : "", text);
}

std::string word_specs(const std::string& command) {
  const auto spec = [&](std::string_view place, bool first) {
    const std::string what = action(word_kind(command, first), nullptr);
    return fmt::format("'{}:word:{}'", place, what.empty() ? " " : what);
  };
  return fmt::format("      {} {}", spec("1", true), spec("*", false));
}

}  // namespace

std::string zsh_completion(const Manual& manual) {
  std::string names;
  std::string cases;
  for (const ManualCommand& command : manual.commands) {
    if (command.name.find(' ') != std::string::npos) continue;  // its options are found by its first word's
    names += fmt::format("    '{}:{}'\n", command.name, zsh_quoted(command.summary));
    std::string options;
    for (const OptionDescription& option : command.description.options) options += option_spec(option);
    cases +=
        fmt::format("    {}) _arguments -s \\\n{}{} ;;\n", command.name, options, word_specs(command.name));
  }
  return fmt::format(
      "{}  drybus_commands=(\n{}  )\n"
      "  _arguments -C '(- *)--help[list the commands]' '(- *)--version[tell the version]' "
      "'1:command:->command' "
      "'*::word:->words'\n"
      "  case $state in\n    command) _describe -t commands command drybus_commands; return ;;\n  esac\n"
      "  case $words[1] in\n{}  esac\n}}\n\n_drybus \"$@\"\n",
      zsh_head, names, cases);
}

}  // namespace drybus::tools
