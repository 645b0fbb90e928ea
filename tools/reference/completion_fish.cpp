// Completion for fish: https://fishshell.com/docs/current/cmds/complete.html
#include <fmt/format.h>
#include <fmt/ranges.h>

#include "tools/reference/manual.h"
#include "tools/reference/values.h"

namespace drybus::tools {

namespace {

constexpr std::string_view fish_head =
    R"sh(# Completion of drybus for fish. Made by drybus reference from the program's own help; not to be edited.

# __drybus_names KIND: devices, questions or families, asked of the first word that is a file.
function __drybus_names
    set -l words (commandline -opc)
    set -l file
    for word in $words[3..-1]
        if test -f $word
            set file $word
            break
        end
    end
    $words[1] names $argv[1] $file 2>/dev/null
end

# Whether a file stands on the command line already.
function __drybus_has_file
    for word in (commandline -opc)[3..-1]
        test -f $word; and return 0
    end
    return 1
end

)sh";

std::string fish_quoted(std::string_view text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\'' || c == '\\') out += '\\';
    out += c == '\n' ? ' ' : c;
  }
  return out + "'";
}

std::string value_words(const OptionDescription& option) {
  const ValueKind kind = value_kind(option);
  if (!option.takes_value) return "";
  if (kind == ValueKind::file) return " -r -F";
  if (kind == ValueKind::folder) return " -x -a '(__fish_complete_directories)'";
  if (kind == ValueKind::choice) return fmt::format(" -x -a '{}'", fmt::join(choices_in(option.text), " "));
  const std::string_view names = asked_names(kind);
  return names.empty() ? " -x" : fmt::format(" -x -a '(__drybus_names {})'", names);
}

std::string option_line(const std::string& command, const OptionDescription& option) {
  return fmt::format("complete -c drybus -n '__fish_seen_subcommand_from {}' -l {}{}{} -d {}\n", command,
                     option.name, option.letter == '\0' ? "" : fmt::format(" -s {}", option.letter),
                     value_words(option), fish_quoted(option.text));
}

}  // namespace

std::string fish_completion(const Manual& manual) {
  std::string text{fish_head};
  for (const ManualCommand& command : manual.commands) {
    if (command.name.find(' ') != std::string::npos) continue;  // its options are found by its first word's
    text += fmt::format("complete -c drybus -n __fish_use_subcommand -f -a {} -d {}\n", command.name,
                        fish_quoted(command.summary));
  }
  text += "complete -c drybus -n __fish_use_subcommand -f -l help -d 'list the commands'\n";
  text += "complete -c drybus -n __fish_use_subcommand -f -l version -d 'tell the version'\n";
  for (const ManualCommand& command : manual.commands) {
    if (command.name.find(' ') != std::string::npos) continue;
    for (const OptionDescription& option : command.description.options)
      text += option_line(command.name, option);
  }
  text +=
      "complete -c drybus -n '__fish_seen_subcommand_from why; and __drybus_has_file' -f -a '(__drybus_names "
      "questions)'\n";
  return text +
         "complete -c drybus -n '__fish_seen_subcommand_from family' -f -a '(__drybus_names families)'\n";
}

}  // namespace drybus::tools
