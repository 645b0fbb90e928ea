// The reference of all commands, in Markdown.
#include <fmt/format.h>

#include <algorithm>

#include "tools/reference/manual.h"
#include "tools/reference/values.h"

namespace drybus::tools {

namespace {

/// Within a table's cell.
std::string cell(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '|' || c == '<' || c == '*' || c == '_' || c == '`' || c == '\\' || c == '[' || c == '~')
      out += '\\';
    out += c == '\n' ? ' ' : c;
  }
  return out;
}

std::string option_row(const OptionDescription& option) {
  std::string names =
      fmt::format("`--{}{}`", option.name, option.takes_value ? fmt::format(" {}", placeholder(option)) : "");
  if (option.letter != '\0') names += fmt::format(", `-{}`", option.letter);
  const std::string usual = option.usual.empty() ? "" : fmt::format("`{}`", option.usual);
  return fmt::format("| {} | {} | {} |\n", names, cell(option.text), usual);
}

std::string section(const ManualCommand& command) {
  const Usage usage = usage_of(command.description);
  std::string text = fmt::format("## drybus {}\n\n{}.\n\n```text\n", command.name, command.summary);
  for (const std::string& line : usage.lines) text += line + "\n";
  text += "```\n\n";
  if (!usage.about.empty()) text += usage.about + "\n\n";
  text += "| option | does | unless said |\n| --- | --- | --- |\n";
  for (const OptionDescription& option : command.description.options) text += option_row(option);
  for (const Example& example : command.examples) {
    text += fmt::format("\n{}:\n\n```sh\n{}\n```\n", example.shows, example.line);
  }
  return text + "\n";
}

}  // namespace

std::vector<ReferenceFile> reference_pages(const Manual& manual) {
  std::string text = fmt::format(
      "# Commands\n\nMade from the help of drybus {}. Exit codes everywhere: 0 fine, 1 an expectation failed "
      "or something "
      "was found that must not be there, 2 the input or the usage is wrong.\n\n",
      manual.version);
  for (const ManualCommand& command : manual.commands) text += section(command);
  return {{"commands.md", text}};
}

}  // namespace drybus::tools
