// Fourteen of twenty-three harmful libraries were not contained: they forked, killed, changed folders, wrote files, or ended
// the process, and nobody was told. What each leads to now, in `check`, where every scenario has a process of its own.
#include <doctest/doctest.h>
#include <sys/prctl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;

std::string library(int harm) {
  const std::string name = "harm_" + std::to_string(harm) + ".so";
  return (std::filesystem::path{DRYBUS_PROGRAM}.parent_path() / "firmware" / name).string();
}

const std::string pressed =
    "drybus: 1\ntitle: A module is pressed\nfamily: wired-keypad\nseed: 3\nsite:\n  places: {hall: {}}\n"
    "  plates: {P1: {place: hall, switches: {site: 23, zone: 4}}}\n"
    "  modules: {M1: {place: hall, intended: 23/4/1}}\n  bus: {line: [P1, M1]}\n"
    "script:\n  - wait: 1s\n  - press: M1 local\n  - wait: 1s\n";
const std::string quiet =
    "drybus: 1\nfamily: wired-keypad\nsite:\n  plates: {P1: {switches: {site: 23, zone: 4}}}\n"
    "  modules: {M1: {intended: 23/4/1}}\nscript:\n  - press: P1 off\n";

void says(const std::string& text, const std::string& what) {
  CHECK_MESSAGE(text.find(what) != std::string::npos, text);
}

/// There are virtual machines in which the processor tells its count of cycles whatever it was bidden. There only the second run
/// of `check` finds a firmware that goes by it.
bool cycles_can_be_hidden() {
#if defined(__x86_64__)
  const pid_t child = fork();
  if (child == 0) {
    prctl(PR_SET_TSC, PR_TSC_SIGSEGV, 0, 0, 0);
    static_cast<void>(__builtin_ia32_rdtsc());
    _exit(0);
  }
  int status = 0;
  waitpid(child, &status, 0);
  return WIFSIGNALED(status);
#else
  return false;
#endif
}

struct Harm {
  int number;
  const char* how;
};

/// Processes that hang in a library of ours, whoever started them.
std::string left_behind() {
  return shell("grep -l harm_ /proc/[0-9]*/maps 2>/dev/null | wc -l").out;
}

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE("harm in a handler is told with step, device, handler and time, and other scenarios go on") {
    const Folder folder;
    const std::string bad = folder.write("a.yaml", pressed);
    folder.write("b.yaml", quiet);
    static constexpr std::array harms = {
        Harm{10, "makes the system call 'fork', which a handler has no use for"},
        Harm{12, "the process ended with SIGSEGV"},
        Harm{13, "makes the system call 'execve'"},
        Harm{14, "makes the system call 'kill'"},
        Harm{15, "makes the system call 'kill'"},
        Harm{16, "makes the system call 'close'"},
        Harm{17, "makes the system call 'chdir'"},
        Harm{18, "makes the system call 'openat'"},
        Harm{19, "makes the system call 'socket'"},
        Harm{20, "crashes (SIGSEGV"},
        Harm{21, "takes a signal for itself"},
        Harm{22, "changes how the processor calculates"},
        Harm{24, "makes the system call 'clock_gettime'"},
        Harm{25, "makes the system call 'getrandom'"},
        Harm{26, "makes the system call 'openat'"},
        Harm{27, "changes how the processor calculates"},
        Harm{29, "asks the processor for its count of cycles; `now` tells the time of the run"},
        Harm{31, "asks the computer for the time; `now` tells the time of the run"},
    };
    const bool hidden = cycles_can_be_hidden();
    if (!hidden) MESSAGE("this machine does not hide the count of cycles: 29, 30 and 31 are left out");
    for (const Harm& harm : harms) {
      CAPTURE(harm.number);
      if (!hidden && harm.number >= 29) continue;
      const Ran ran =
          drybus_program("check " + folder.path().string() + " --firmware module=" + library(harm.number));
      CHECK(ran.exit_code == 1);
      says(ran.out, harm.how);
      says(ran.out, "in its handler for button");
      says(ran.out, "at 0:01.0");
      says(ran.out, "2 scenarios: 1 passed, 1 failed");
      // In a command that is one process, likewise.
      if (harm.number == 20 || harm.number == 26) continue;  // a command takes memory, and reads
      const Ran alone = drybus_program("run " + bad + " --firmware module=" + library(harm.number));
      CHECK(alone.exit_code == 1);
      says(alone.out + alone.err, harm.how);
    }
    CHECK_FALSE(std::filesystem::exists(DRYBUS_SOURCE_DIR "/harm.txt"));
  }

  TEST_CASE("what a library does while it is loaded or unloaded is told, and nothing outlives the run") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", pressed);
    const Ran forked = drybus_program("run " + scenario + " --firmware module=" + library(11));
    CHECK(forked.exit_code == 1);
    says(forked.err, "the process ended with SIGSYS, while " + library(11) + " is being loaded");
    const Ran behind = drybus_program("check " + scenario + " --firmware module=" + library(11));
    CHECK(behind.exit_code == 1);
    says(behind.err, "the firmware started another process, which was left behind, and ended");
    CHECK(left_behind() == "0\n");
    for (const std::string command : {"run ", "check "}) {
      if (!cycles_can_be_hidden()) continue;
      const Ran counted = drybus_program(command + scenario + " --firmware module=" + library(30));
      CHECK(counted.exit_code == 1);
      says(counted.err,
           "while " + library(30) + " is being loaded and asks the processor for its count of cycles");
    }
    const Ran kept = drybus_program("check " + scenario + " --firmware module=" + library(23));
    CHECK(kept.exit_code == 2);
    says(kept.err, "bytes of thread-local variables");
  }

  TEST_CASE("memory that is nobody's is found by running twice, and named") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", pressed);
    const std::string kept = "check " + scenario + " --firmware module=" + library(28);
    const Ran twice = drybus_program(kept);
    CHECK(twice.exit_code == 1);
    says(twice.out, "two runs differ: ");
    says(twice.out, "so the firmware goes by something that belongs to no run");
    CHECK(drybus_program(kept + " --once").exit_code == 0);
  }

  TEST_CASE("processes with firmware go with the one that started them") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", pressed);
    // It hangs out of reach of signals; whoever waits for it is killed after a moment.
    shell("timeout -s KILL 1 drybus check " + scenario + " --firmware module=" + library(7) + "; sleep 0.3");
    CHECK(left_behind() == "0\n");
  }
}
