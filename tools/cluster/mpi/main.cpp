// drybus-mpi: sweeps and checks by the ranks of a job of MPI. Rank 0 tells the result, which is that of drybus on one machine.
#include <fcntl.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <new>
#include <string>
#include <vector>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/cluster/mpi/manager.h"
#include "tools/cluster/mpi/worker.h"
#include "tools/commands/build_id.h"
#include "tools/commands/command.h"
#include "tools/script/quantity.h"

namespace {

using namespace drybus::tools;
using drybus::model::in_words_spoken;
using drybus::model::msg;
using drybus::model::tr;
using namespace std::chrono_literals;

constexpr std::string_view help = msg(
    "usage: mpirun [options of mpirun] drybus-mpi [--patience TIME] sweep|check WORDS AND OPTIONS OF THAT "
    "COMMAND\n\n"
    "The same result as drybus sweep and drybus check, byte for byte. --jobs is threads of one rank (1 "
    "unless said).\n"
    "With mpirun --enable-recovery the work of a rank that is lost is done again; a rank counts as lost when "
    "it was not\n"
    "heard of for --patience (5 s unless said).\n");

/// Options that are about this process alone, or bring code that may end it.
constexpr std::array<std::string_view, 6> not_over_ranks = {"--firmware", "--coverage", "--mutants",
                                                            "--killers",  "--rows",     "--run"};

struct Asked {
  std::chrono::milliseconds patience = 5s;
  std::vector<std::string> words;  ///< the command first
  bool help = false;
};

Asked asked_in(int argc, char** argv) {
  Asked asked;
  asked.words.assign(argv + 1, argv + argc);
  auto& words = asked.words;
  if (!words.empty() && words[0] == "--patience") {
    const auto patience = parse_duration(words.size() > 1 ? words[1] : "");
    if (!patience || *patience < 1s || *patience > 24h)
      throw Unusable{tr("--patience: expected a time from 1s to 24h")};
    asked.patience = std::chrono::duration_cast<std::chrono::milliseconds>(*patience);
    words.erase(words.begin(), words.begin() + 2);
  }
  asked.help = words.empty() || words[0] == "--help" || words[0] == "-h";
  return asked;
}

void refuse_what_needs_one_process(const std::vector<std::string>& words) {
  for (const std::string& word : words) {
    const std::string_view name = std::string_view{word}.substr(0, word.find('='));
    if (!name.starts_with("--") || name == "--runs") continue;
    for (const std::string_view option : not_over_ranks) {
      // An option may be cut short, as long as it can be told from the others.
      if (option == name || (name.size() > 4 && option.starts_with(name)))
        throw Unusable{tr("{} is not done over ranks; drybus does it on one machine", option)};
    }
  }
}

int command(const std::vector<std::string>& words) {
  refuse_what_needs_one_process(words);
  const Arguments rest = Arguments{words}.subspan(1);
  if (words[0] == "sweep") return sweep_command(rest);
  if (words[0] == "check") return check_command(rest);
  const std::vector<std::string> known{"sweep", "check"};
  throw Unusable{
      tr("'{}' is not done over ranks; expected sweep or check.{}", words[0], did_you_mean(words[0], known))};
}

/// Why not, or nothing; `code` is the exit code.
std::string tried(const Asked& asked, int& code) {
  code = exit_unusable;
  try {
    code = command(asked.words);
    return "";
  } catch (const std::bad_alloc&) {
    return tr("out of memory");
  } catch (const std::exception& error) {
    return reason_of(error);
  }
}

/// Only rank 0 is heard.
void be_silent() {
  const int nowhere = ::open("/dev/null", O_WRONLY | O_CLOEXEC);
  if (nowhere < 0) return;
  ::dup2(nowhere, STDOUT_FILENO);
  ::dup2(nowhere, STDERR_FILENO);
}

int manage(Wire& wire, const Asked& asked, bool& together) {
  Manager manager{wire, asked.patience, std::string{build_id()}};
  use_workforce(manager);
  int code = exit_fine;
  const std::string why = tried(asked, code);
  if (!why.empty()) print_err(fmt::format("drybus: {}\n", why));
  together = manager.end();
  return code;
}

void work(Wire& wire, const Asked& asked, bool& together) {
  be_silent();
  Worker worker{wire, std::string{build_id()}};
  use_workforce(worker);
  try {
    int code = exit_fine;
    const std::string why = tried(asked, code);
    if (!why.empty()) worker.refuse(why);
  } catch (const Dismissed&) {
  }
  together = worker.end();
}

int run(int argc, char** argv) {
  const Asked asked = asked_in(argc, argv);
  if (asked.help) {
    print_out(std::string{in_words_spoken(help)});
    return exit_fine;
  }
  ::setenv("NO_COLOR", "1", 1);  // what ranks print comes by way of a terminal that mpirun makes
  Wire wire{&argc, &argv};
  bool together = false;
  int code = exit_fine;
  if (wire.rank() == 0) {
    code = manage(wire, asked, together);
  } else {
    work(wire, asked, together);
  }
  std::fflush(nullptr);
  if (!together && wire.rank() == 0) Wire::end_job(code);
  if (!together) _exit(code);
  Wire::leave();
  return code;
}

}  // namespace

int main(int argc, char** argv) {
  std::signal(SIGPIPE, SIG_IGN);
  try {
    return run(argc, argv);
  } catch (const std::exception& error) {
    print_err(fmt::format("drybus-mpi: {}\n", reason_of(error)));
    return exit_unusable;
  }
}
