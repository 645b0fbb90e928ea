// Completion for bash: https://www.gnu.org/software/bash/manual/html_node/Programmable-Completion.html
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "tools/reference/manual.h"
#include "tools/reference/values.h"

namespace drybus::tools {

namespace {

constexpr std::string_view bash_head =
    R"sh(# Completion of drybus for bash. Made by drybus reference from the program's own help; not to be edited.

# The first word after the command that is a file: what names are asked of.
_drybus_file() {
  local word
  for word in "${COMP_WORDS[@]:2}"; do
    word=${word/#\~\//$HOME/}
    [[ -f $word ]] && { printf '%s\n' "$word"; return; }
  done
}

# _drybus_names KIND: devices, questions or families.
_drybus_names() {
  COMPREPLY=($(compgen -W "$("${COMP_WORDS[0]}" names "$1" "$(_drybus_file)" 2>/dev/null)" -- "$current"))
}

_drybus() {
  local current=${COMP_WORDS[COMP_CWORD]} previous=${COMP_WORDS[COMP_CWORD-1]} command=${COMP_WORDS[1]} options=
  local place=$COMP_CWORD
  COMPREPLY=()
  [[ $current == = ]] && current=
  [[ $previous == = ]] && previous=${COMP_WORDS[COMP_CWORD-2]}
)sh";

constexpr std::string_view tail = R"sh(  if [[ $current == -* ]]; then
    COMPREPLY=($(compgen -W "$options" -- "$current"))
  elif [[ $command == why && -n $(_drybus_file) && $place -gt 2 && $previous != -* ]]; then
    _drybus_names questions
  elif [[ $command == family ]]; then
    _drybus_names families
  fi
}

complete -o bashdefault -o default -F _drybus drybus
)sh";

std::string option_names(const OptionDescription& option, const std::string& command,
                         std::string_view between) {
  std::string text = fmt::format("\"{} --{}\"", command, option.name);
  if (option.letter != '\0') text += fmt::format("{}\"{} -{}\"", between, command, option.letter);
  return text;
}

/// What completes the value of an option; nothing where it is a file, which bash knows by itself.
std::string value_line(const OptionDescription& option) {
  const ValueKind kind = value_kind(option);
  if (kind == ValueKind::choice)
    return fmt::format("COMPREPLY=($(compgen -W \"{}\" -- \"$current\"))",
                       fmt::join(choices_in(option.text), " "));
  if (kind == ValueKind::folder) return "COMPREPLY=($(compgen -d -- \"$current\"))";
  const std::string_view names = asked_names(kind);
  return names.empty() ? "" : fmt::format("_drybus_names {}", names);
}

}  // namespace

std::string bash_completion(const Manual& manual) {
  std::string names;
  std::string options;
  std::string values;
  for (const ManualCommand& command : manual.commands) {
    if (command.name.find(' ') != std::string::npos) continue;  // its options are found by its first word's
    names += fmt::format(" {}", command.name);
    std::string own;
    for (const OptionDescription& option : command.description.options) {
      own += fmt::format(" --{}", option.name);
      if (option.letter != '\0') own += fmt::format(" -{}", option.letter);
      if (!option.takes_value) continue;
      values += fmt::format("    {}) {}{}return ;;\n", option_names(option, command.name, "|"),
                            value_line(option), value_line(option).empty() ? "" : "; ");
    }
    options += fmt::format("    {}) options=\"{}\" ;;\n", command.name, own.substr(1));
  }
  return fmt::format(
      "{}  if [[ $place -eq 1 ]]; then\n    COMPREPLY=($(compgen -W \"{} --help --version\" -- "
      "\"$current\"))\n    "
      "return\n  fi\n  case \"$command\" in\n{}  esac\n  case \"$command $previous\" in\n{}  esac\n{}",
      bash_head, names.substr(1), options, values, tail);
}

std::vector<ReferenceFile> completions(const Manual& manual) {
  return {{"drybus", bash_completion(manual)},
          {"_drybus", zsh_completion(manual)},
          {"drybus.fish", fish_completion(manual)}};
}

}  // namespace drybus::tools
