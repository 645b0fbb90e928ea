// drybus: a dry run of a lighting-control bus.
#include <fmt/format.h>

#include <algorithm>
#include <csignal>
#include <exception>
#include <new>
#include <string>
#include <vector>

#include "model/firmware/logic.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/commands/build_id.h"
#include "tools/commands/command.h"
#include "tools/seat/children.h"
#include "tools/seat/library.h"

namespace {

using namespace drybus::tools;

std::string help() {
  std::string text = "drybus: a dry run of a lighting-control bus\n\n";
  for (const Command& command : commands()) {
    text += fmt::format("  drybus {:<34} {}\n", fmt::format("{} {}", command.name, command.usage),
                        command.summary);
  }
  text +=
      "\ndrybus COMMAND --help tells a command's options.\n"
      "Exit codes: 0 fine, 1 an expectation failed or something was found, 2 the input or the usage is "
      "wrong.\n";
  return text;
}

std::vector<std::string> command_names() {
  std::vector<std::string> names;
  for (const Command& command : commands()) names.emplace_back(command.name);
  return names;
}

int dispatch(const std::vector<std::string>& words) {
  if (words.empty()) throw Unusable{help()};
  if (words[0] == "--help" || words[0] == "-h" || words[0] == "help") {
    print_out(help());
    return exit_fine;
  }
  if (words[0] == "--version") {
    print_out(fmt::format("drybus {}\nbuild {}\nfirmware interface {} (takes libraries built for {}.0 and later)\n",
                          DRYBUS_VERSION, build_id(), interface_version(), DRYBUS_FIRMWARE_ABI));
    return exit_fine;
  }
  for (const std::span<const Command> table : {commands(), hidden_commands()}) {
    for (const Command& command : table) {
      if (command.name == words[0]) return command.run(Arguments{words}.subspan(1));
    }
  }
  throw Unusable{fmt::format("'{}' is no command.{}\n'drybus --help' lists them.", words[0],
                             did_you_mean(words[0], command_names()))};
}

int dispatch_safely(const std::vector<std::string>& words) {
  try {
    return dispatch(words);
  } catch (const drybus::model::FirmwareFault& fault) {
    print_err(fmt::format("drybus: {}\n", fault.what()));
    return exit_failed;
  } catch (const Unusable& error) {
    print_err(fmt::format("drybus: {}\n", error.what()));
  } catch (const std::bad_alloc&) {
    print_err("drybus: out of memory\n");
  } catch (const std::exception& error) {
    print_err(fmt::format("drybus: {}\n", reason_of(error)));
  }
  return exit_unusable;
}

/// Somebody's firmware may take the process that it runs in with it.
bool brings_firmware(const std::vector<std::string>& words) {
  // An option may be cut short, as long as it can be told from the others.
  constexpr std::string_view option = "--firmware";
  return std::any_of(words.begin(), words.end(), [&](const std::string& word) {
    const std::string_view name = std::string_view{word}.substr(0, word.find('='));
    return name.size() > 3 && option.starts_with(name);
  });
}

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGPIPE, SIG_IGN);
  const std::vector<std::string> words{argv + 1, argv + argc};
  if (!brings_firmware(words)) return dispatch_safely(words);
  const bool starts_processes = words[0] == "check" || words[0] == "compare";
  return in_child([&words] { return dispatch_safely(words); },
                  starts_processes ? Confinement::supervisor : Confinement::command);
}
