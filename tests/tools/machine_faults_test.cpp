// Faults of the machine: a disk that is full, a place that cannot be written to, a reader that goes away, a
// program that is stopped or killed in the middle. Whatever happens, nothing is half-written and nobody is
// told a lie.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using drybus::tests::content_of;
using drybus::tests::Folder;
using drybus::tests::Ran;
using drybus::tests::shell;
namespace fs = std::filesystem;

std::size_t files_in(const Folder& folder) {
  return static_cast<std::size_t>(
      std::distance(fs::directory_iterator{folder.path()}, fs::directory_iterator{}));
}

const std::string main_scenario = "scenarios/training/setup-split.yaml";

/// Every command that prints, in the quickest way that it has.
const std::vector<std::string> printing = {"--help",
                                           "run " + main_scenario,
                                           "run --format json " + main_scenario,
                                           "check scenarios/training",
                                           "check --format json scenarios/training",
                                           "check --coverage scenarios/training",
                                           "why " + main_scenario + " M1.address",
                                           "draw " + main_scenario + " -o - --format svg",
                                           "diff " + main_scenario + " scenarios/training/first-steps.yaml",
                                           "shrink " + main_scenario + " --for setup-split",
                                           "hunt scenarios/regression/hunt-start.yaml --for setup-split",
                                           "sweep " + main_scenario + " -n 20",
                                           "recover " + main_scenario,
                                           "plan scenarios/sites/village-hall.yaml --runs 0",
                                           "switches 41",
                                           "building --plates 2"};

/// What each command that writes a file writes: %s is the place.
const std::vector<std::string> writing = {"run " + main_scenario + " --vcd %s",
                                          "run " + main_scenario + " --pcapng %s",
                                          "run " + main_scenario + " --record %s",
                                          "check scenarios/training --junit %s",
                                          "check scenarios/training --accept --digests %s",
                                          "draw " + main_scenario + " -o %s.svg",
                                          "shrink " + main_scenario + " --for setup-split" + " -o %s",
                                          "hunt scenarios/regression/hunt-start.yaml --for setup-split -o %s",
                                          "recover " + main_scenario + " -o %s",
                                          "plan scenarios/sites/village-hall.yaml --runs 0 --csv %s",
                                          "plan scenarios/sites/village-hall.yaml --runs 0 --sheet %s",
                                          "plan scenarios/sites/village-hall.yaml --runs 0 --route %s",
                                          "building --plates 2 -o %s"};

std::string with_place(std::string command, const std::string& place) {
  command.replace(command.find("%s"), 2, place);
  return command;
}

}  // namespace

TEST_SUITE("machine faults") {
  TEST_CASE("a disk that is full is told, with exit code 2") {
    for (const std::string& command : printing) {
      CAPTURE(command);
      const Ran ran = shell("drybus " + command + " > /dev/full");
      CHECK(ran.exit_code == 2);
      CHECK(ran.err.find("No space left on device") != std::string::npos);
    }
  }

  TEST_CASE("a reader who goes away ends the program without a word") {
    for (const std::string& command : printing) {
      CAPTURE(command);
      // The reader is gone before anything is written.
      const Ran ran = shell("{ sleep 0.1; drybus " + command + "; echo $? >&2; } | true");
      CHECK(ran.err.find("rror") == std::string::npos);
      CHECK(ran.err.find("terminate") == std::string::npos);
      CHECK(ran.err.size() < 8);  // the exit code, and at most a signal's
    }
  }

  TEST_CASE("a place that cannot be written to is told with exit code 2, and nothing is left behind") {
    const Folder folder;
    for (const std::string& command : writing) {
      CAPTURE(command);
      const Ran ran = shell("drybus " + with_place(command, folder.file("nowhere/file")));
      CHECK(ran.exit_code == 2);
      CHECK(ran.err.find("nowhere") != std::string::npos);
      CHECK(files_in(folder) == 0);
    }
  }

  TEST_CASE("a file that does not fit leaves what was there as it was") {
    const Folder folder;
    for (const std::string& command : writing) {
      CAPTURE(command);
      const std::string place = folder.file("file"),
                        file = command.find("%s.svg") == std::string::npos ? place : place + ".svg";
      // No file may grow beyond nothing; the limit's signal is ignored, so that writing fails as on a full
      // disk.
      std::ofstream{file} << "{}";
      const Ran ran =
          shell("trap '' 25; exec 3>&1; ulimit -f 0; drybus " + with_place(command, place) + " >&3");
      CHECK(ran.exit_code == 2);
      CHECK(content_of(file) == "{}");
      CHECK(files_in(folder) == 1);
      fs::remove(file);
    }
  }

  TEST_CASE("a sweep that is killed goes on from its finished blocks and ends as if nothing had happened") {
    const Folder folder;
    const std::string sweep = DRYBUS_PROGRAM " sweep " + main_scenario + " -n 30000 --jobs 1 --format json";
    const std::string whole = shell(sweep).out;
    for (const char* after : {"0.05", "0.2", "0.4"}) {
      CAPTURE(after);
      const std::string state = folder.file(fmt::format("state-{}", after));
      shell(fmt::format("timeout -s KILL {} {} --state {}", after, sweep, state));
      CHECK(shell(fmt::format("{} --state {}", sweep, state)).out == whole);
    }
  }

  TEST_CASE("commands that are stopped or killed leave no half of a file") {
    const Folder folder;
    for (const char* signal : {"INT", "TERM", "KILL"}) {
      for (const std::string& command : writing) {
        for (const char* after : {"0.004", "0.01"}) {
          CAPTURE(signal);
          CAPTURE(command);
          CAPTURE(after);
          const std::string place = folder.file("file");
          const std::string file = place + (command.find("%s.svg") == std::string::npos ? "" : ".svg");
          std::ofstream{file} << "{}";
          const Ran ran = shell(fmt::format("timeout -s {} {} " DRYBUS_PROGRAM " {}", signal, after,
                                            with_place(command, place)));
          const std::string now = content_of(file);
          // As before, or whole: every text of ours ends with a line's end, and a capture with its last
          // block.
          CHECK((now == "{}" || now.size() > 40));
          if (now != "{}" && command.find("pcapng") == std::string::npos) CHECK(now.back() == '\n');
          fs::remove(file);
        }
      }
    }
  }
}
