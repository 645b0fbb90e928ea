// drybus: a dry run of a lighting-control bus.
#include <fmt/format.h>

#include <algorithm>
#include <csignal>
#include <exception>
#include <new>
#include <string>
#include <vector>

#include "model/firmware/logic.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/commands/build_id.h"
#include "tools/commands/command.h"
#include "tools/options/help.h"
#include "tools/options/language.h"
#include "tools/seat/children.h"
#include "tools/seat/library.h"

namespace {

using namespace drybus::tools;
using drybus::model::in_words_spoken;
using drybus::model::tr;

using Words = std::vector<std::string>;

std::string help() {
  std::string text = "drybus: " + tr("a dry run of a lighting-control bus") + "\n\n";
  for (const Command& command : commands()) {
    const std::string usage = fmt::format("{} {}", command.name, usage_in_words_spoken(command.usage));
    text += fmt::format("  drybus {:<34} {}\n", usage, in_words_spoken(command.summary));
  }
  text += "\n" + tr("drybus COMMAND --help tells a command's options.") + "\n";
  text +=
      tr("Exit codes: 0 fine, 1 an expectation failed or something was found, 2 the input or the usage is "
         "wrong.");
  return text + "\n";
}

std::string version() {
  return fmt::format("drybus {}\n", DRYBUS_VERSION) + tr("build {}", build_id()) + "\n" +
         tr("firmware interface {} (takes libraries built for {}.0 and later)", interface_version(),
            DRYBUS_FIRMWARE_ABI) +
         "\n";
}

std::vector<std::string> command_names() {
  std::vector<std::string> names;
  for (const Command& command : commands()) names.emplace_back(command.name);
  return names;
}

int dispatch(const Words& words) {
  if (words.empty()) throw Unusable{help()};
  if (words[0] == "--help" || words[0] == "-h" || words[0] == "help") {
    print_out(help());
    return exit_fine;
  }
  if (words[0] == "--version") {
    print_out(version());
    return exit_fine;
  }
  for (const std::span<const Command> table : {commands(), hidden_commands()}) {
    for (const Command& command : table) {
      if (command.name == words[0]) return command.run(Arguments{words}.subspan(1));
    }
  }
  throw Unusable{tr("'{}' is no command.{}", words[0], did_you_mean(words[0], command_names())) + "\n" +
                 tr("'drybus --help' lists them.")};
}

int dispatch_safely(const Words& words) {
  try {
    return dispatch(words);
  } catch (const drybus::model::FirmwareFault& fault) {
    print_err(fmt::format("drybus: {}\n", fault.what()));
    return exit_failed;
  } catch (const Unusable& error) {
    print_err(fmt::format("drybus: {}\n", error.what()));
  } catch (const std::bad_alloc&) {
    print_err("drybus: " + tr("out of memory") + "\n");
  } catch (const std::exception& error) {
    print_err(fmt::format("drybus: {}\n", reason_of(error)));
  }
  return exit_unusable;
}

/// Somebody's firmware may take the process that it runs in with it.
bool brings_firmware(const Words& words) {
  // An option may be cut short, as long as it can be told from the others.
  constexpr std::string_view option = "--firmware";
  return std::any_of(words.begin(), words.end(), [&](const std::string& word) {
    const std::string_view name = std::string_view{word}.substr(0, word.find('='));
    return name.size() > 3 && option.starts_with(name);
  });
}

/// The language may be named before the command, too.
Words without_leading_language(Words words) {
  if (words.size() > 1 && words[0] == "--language")
    words.erase(words.begin(), words.begin() + 2);
  else if (!words.empty() && words[0].starts_with("--language="))
    words.erase(words.begin());
  return words;
}

int speak_and_dispatch(const Words& given) {
  const drybus::model::Speaking as_the_environment{words_of(language_of_environment())};
  std::string language;
  try {
    language = language_asked(given);
  } catch (const Unusable& error) {
    print_err(fmt::format("drybus: {}\n", error.what()));
    return exit_unusable;
  }
  const drybus::model::Speaking as_asked{words_of(language)};
  const Words words = without_leading_language(given);
  if (!brings_firmware(words)) return dispatch_safely(words);
  const bool starts_processes = words[0] == "check" || words[0] == "compare";
  return in_child([&words] { return dispatch_safely(words); },
                  starts_processes ? Confinement::supervisor : Confinement::command);
}

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGPIPE, SIG_IGN);
  return speak_and_dispatch({argv + 1, argv + argc});
}
