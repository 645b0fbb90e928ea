// Manual pages in mdoc(7). https://mandoc.bsd.lv/man/mdoc.7.html
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <utility>

#include "tools/base/wrap.h"
#include "tools/reference/manual.h"
#include "tools/reference/values.h"

namespace drybus::tools {

namespace {

/// Text that no formatter takes for anything else: a dash of an option stays one that can be typed.
std::string escaped(std::string_view text) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool dashes = text[i] == '-' && i + 1 < text.size() && text[i + 1] == '-';
    const bool begins = i == 0 || text[i - 1] == ' ' || text[i - 1] == '\n';
    if (text[i] == '\\') {
      out += "\\e";
    } else if (text[i] == '-' && (dashes || begins || (i > 0 && text[i - 1] == '-'))) {
      out += "\\-";
    } else if ((text[i] == '.' || text[i] == '\'') && begins) {
      out += "\\&";
      out += text[i];
    } else {
      out += text[i];
    }
  }
  return out;
}

bool ends_sentence(std::string_view text, std::size_t stop) {
  return text[stop] == '.' && stop > 0 && std::isalpha(static_cast<unsigned char>(text[stop - 1])) != 0 &&
         stop + 1 < text.size() && text[stop + 1] == ' ';
}

/// Prose: each sentence begins on a line of its own, as mdoc has it, and no line is long.
std::string prose(std::string_view text) {
  constexpr std::size_t width = 68;
  std::string out{text};
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (ends_sentence(out, i)) out[i + 1] = '\n';
  }
  std::string lines;
  for (std::size_t from = 0; from < out.size();) {
    const std::size_t end = std::min(out.find('\n', from), out.size());
    for (const std::string& line : wrapped(std::string_view{out}.substr(from, end - from), width))
      lines += (lines.empty() ? "" : "\n") + escaped(line);
    from = end + 1;
  }
  return lines;
}

/// What a command does, as sentences: its summary, and what its usage says besides.
std::string about(const ManualCommand& command) {
  std::string text = command.summary + ".";
  text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  std::string more = usage_of(command.description).about;
  if (more.empty()) return text;
  more[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(more[0])));
  return text + "\n" + more + (more.ends_with('.') ? "" : ".");
}

/// One word of a macro's arguments.
std::string argument(std::string_view word) {
  std::string text = escaped(word);
  const bool plain = std::none_of(text.begin(), text.end(), [](char c) { return c == ' ' || c == '"'; });
  // A word of one to three letters may be a macro's name, and a lone mark is taken for punctuation.
  const bool alone = text.size() <= 3;
  if (alone) text.insert(0, "\\&");
  if (plain) return text;
  std::string quoted = "\"";
  for (const char c : text) quoted += c == '"' ? "\\(dq" : std::string(1, c);
  return quoted + "\"";
}

std::string_view without_brackets(std::string_view word) {
  if (word.starts_with('[')) word.remove_prefix(1);
  if (word.ends_with(']')) word.remove_suffix(1);
  return word;
}

/// Words of a usage as macros: "--port WHERE [-o FILE] [options]".
std::string synopsis_words(std::string_view usage) {
  std::string text;
  bool optional = false;
  while (!usage.empty()) {
    const std::size_t end = std::min(usage.find(' '), usage.size());
    const std::string_view word = usage.substr(0, end);
    usage.remove_prefix(std::min(end + 1, usage.size()));
    if (word.empty()) continue;
    const std::string_view bare = without_brackets(word);
    if (word.starts_with('[')) {
      text += ".Op";
      optional = true;
    } else if (!optional) {
      text += '.';
    }
    if (word.starts_with('[') || optional) text += ' ';
    text += bare.starts_with('-') ? fmt::format("Fl {}", argument(bare.substr(1)))
                                  : fmt::format("Ar {}", argument(bare));
    if (word.ends_with(']')) optional = false;
    if (!optional) text += '\n';
  }
  return text;
}

std::string synopsis(const Usage& usage, const std::string& command) {
  const std::string begins = "drybus " + command;
  std::string text;
  for (const std::string& line : usage.lines) {
    const std::string_view words = std::string_view{line}.substr(std::min(begins.size(), line.size()));
    text += fmt::format(".Nm drybus {}\n{}", command, synopsis_words(words));
  }
  return text;
}

std::string with_usual(const OptionDescription& option) {
  return option.usual.empty() ? option.text : fmt::format("{} ({} unless said)", option.text, option.usual);
}

std::string option_entry(const OptionDescription& option) {
  std::string text = fmt::format(".It Fl \\-{}", option.name);
  const std::string value = option.takes_value ? fmt::format(" Ar {}", placeholder(option)) : "";
  text += value;
  if (option.letter != '\0')
    text += fmt::format(" , Fl {}{}", argument(std::string(1, option.letter)), value);
  return text + "\n" + prose(with_usual(option)) + "\n";
}

std::string page_name(const std::string& command) {
  std::string name = "drybus-" + command;
  std::replace(name.begin(), name.end(), ' ', '-');
  return name;
}

std::string head(const Manual& manual, const std::string& name) {
  std::string title = name;
  std::transform(title.begin(), title.end(), title.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return fmt::format(
      ".\\\" Made by drybus reference from the program's own help; not to be edited.\n.Dd {}\n.Dt {} 1\n.Os "
      "drybus {}\n",
      DRYBUS_RELEASED, title, manual.version);
}

constexpr std::string_view environment = R"(.Sh ENVIRONMENT
.Bl -tag -width DRYBUS_FAMILIES
.It Ev DRYBUS_FAMILIES
Folders in which families are looked for, too, with colons between.
.It Ev LC_ALL Ev LC_MESSAGES Ev LANG
The language in which people are spoken to, unless
.Fl \-language
says: that of the first of these that is set, where drybus knows it.
.It Ev NO_COLOR
Set to anything but nothing: no colours, also on a terminal.
.El
)";
constexpr std::string_view exit_status = R"(.Sh EXIT STATUS
.Bl -tag -width Ds
.It 0
Fine.
.It 1
An expectation failed, or something was found that must not be there.
.It 2
The input or the usage is wrong; nothing was written.
.El
)";

std::string examples_section(const std::vector<Example>& examples) {
  if (examples.empty()) return "";
  std::string text = ".Sh EXAMPLES\n";
  for (const Example& example : examples) {
    text += fmt::format("{}:\n.Pp\n.Dl {}\n", prose(example.shows), escaped(example.line));
    if (&example != &examples.back()) text += ".Pp\n";
  }
  return text;
}

std::string page_of(const Manual& manual, const ManualCommand& command) {
  const std::string name = page_name(command.name);
  const Usage usage = usage_of(command.description);
  std::string text = head(manual, name);
  text += fmt::format(".Sh NAME\n.Nm {}\n.Nd {}\n.Sh SYNOPSIS\n{}.Sh DESCRIPTION\n", name,
                      escaped(command.summary), synopsis(usage, command.name));
  text += prose(about(command)) + "\n";
  text += ".Pp\nThe options:\n.Bl -tag -width Ds\n";
  for (const OptionDescription& option : command.description.options) text += option_entry(option);
  text += ".El\n";
  text += environment;
  text += exit_status;
  text += examples_section(command.examples);
  return text + ".Sh SEE ALSO\n.Xr drybus 1\n";
}

std::string overview(const Manual& manual) {
  std::string text = head(manual, "drybus");
  text +=
      ".Sh NAME\n.Nm drybus\n.Nd a dry run of a lighting\\-control bus\n.Sh SYNOPSIS\n.Nm drybus\n.Ar "
      "COMMAND\n"
      ".Op Ar options\n.Nm drybus\n.Fl \\-version\n.Sh DESCRIPTION\n" +
      prose(
          "Wall plates and dimmer modules run as state machines on a simulated bus, and a script in plain "
          "YAML does what an "
          "installer does. It shows what nobody can see on a site: which mode each device is in, what "
          "address each module "
          "really stored, and which press, wait or lost telegram made it so.") +
      "\n.Pp\nThe commands, each with a page of its own:\n.Bl -tag -width Ds\n";
  for (const ManualCommand& command : manual.commands)
    text += fmt::format(".It Xr {} 1\n{}.\n", page_name(command.name), prose(command.summary));
  text += ".El\n";
  text += environment;
  text +=
      ".Sh FILES\n.Bl -tag -width Ds\n.It Pa ../share/drybus\n"
      "Families, training, reports, schemas and what else ships.\n.El\n";
  text += exit_status;
  return text +
         ".Sh SECURITY CONSIDERATIONS\ndrybus tells nobody to work on live equipment.\n"
         "Where a story or a remedy touches wiring: isolate at the supply, lock off\nand prove dead before "
         "opening.\n"
         "Competent or qualified persons only, under local rules.\n";
}

}  // namespace

std::vector<ReferenceFile> manual_pages(const Manual& manual) {
  std::vector<ReferenceFile> pages{{"drybus.1", overview(manual)}};
  for (const ManualCommand& command : manual.commands)
    pages.push_back({page_name(command.name) + ".1", page_of(manual, command)});
  return pages;
}

}  // namespace drybus::tools
