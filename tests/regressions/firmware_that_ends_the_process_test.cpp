// A library that ended the process while it was loaded or asked what it is passed `drybus check` with nothing run, one
// that did so in a handler made `drybus run` end with 0, one that stopped or hung it was waited for without end, and an
// exception in C++ brought `drybus sweep -j 2` down.
#include <doctest/doctest.h>

#include <array>
#include <filesystem>
#include <string>

#include "tests/support/files.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;

std::string library(const std::string& name) {
  return (std::filesystem::path{DRYBUS_PROGRAM}.parent_path() / "firmware" / (name + ".so")).string();
}

const std::string pressed =
    "drybus: 1\ntitle: A module is pressed\nfamily: wired-keypad\nseed: 3\nsite:\n  places: {hall: {}}\n"
    "  plates: {P1: {place: hall, switches: {site: 23, zone: 4}}}\n"
    "  modules: {M1: {place: hall, intended: 23/4/1}}\n  bus: {line: [P1, M1]}\n"
    "script:\n  - wait: 1s\n  - press: M1 local\n  - wait: 1s\n";

void says(const std::string& text, const std::string& what) {
  CHECK_MESSAGE(text.find(what) != std::string::npos, text);
}

struct Harm {
  int number;
  std::string how;   ///< the process went
  std::string when;  ///< it did, before the name of the library
};

}  // namespace

TEST_SUITE("regressions") {
  TEST_CASE("a library that ends the process is told of, whatever its exit status, and nothing passes") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", pressed);
    const std::array harms = {
        Harm{1, "ended by itself (exit code 0)", "while {} is being loaded"},
        Harm{2, "ended by itself (exit code 0)", "while {} is asked for its plate firmware"},
        Harm{3, "ended by itself (exit code 0)", "in its handler for button, for M1 at 0:01.0 ({})"},
        Harm{8, "ended by itself (exit code 0)", "while {} is being unloaded"},
    };
    for (const Harm& harm : harms) {
      for (const std::string command : {"run ", "check ", "sweep -n 2 -j 1 ", "hunt --for setup-split "}) {
        const std::string path = library("harm_" + std::to_string(harm.number));
        const Ran ran = drybus_program(command + scenario + " --firmware module=" + path);
        CAPTURE(command);
        CAPTURE(harm.number);
        CHECK(ran.exit_code == 1);
        const std::string told = ran.out + ran.err;
        says(told, harm.how);
        says(told, path);
        const std::string begins = harm.when.substr(0, harm.when.find("{}"));
        says(told, harm.number == 3 ? "in its handler for button, for M1 at " : begins + path);
        if (harm.number == 3 && command == "run ") says(told, begins + path);
        if (harm.number != 8) CHECK(ran.out.find("1 passed") == std::string::npos);
      }
    }
  }

  TEST_CASE("an option that is cut short is the option") {
    const Folder folder;
    const Ran ran =
        drybus_program("check " + folder.write("a.yaml", pressed) + " --firm module=" + library("harm_1"));
    CHECK(ran.exit_code == 1);
    says(ran.err, "while " + library("harm_1") + " is being loaded");
  }

  TEST_CASE("a library that stops or hangs its process is ended after a while, and told of") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", pressed);
    const std::array harms = {
        Harm{4, "stopped itself", "in its handler for button, for M1 at 0:01.0 ({})"},
        Harm{5, "stopped itself", "while {} is being loaded"},
        Harm{6, "hung for 10 s", "while {} is being loaded"},
        Harm{7, "hung for 15 s", "in its handler for button, for M1 at 0:01.0 ({})"},
    };
    // All at once: each is waited for.
    std::string all;
    for (const Harm& harm : harms) {
      const std::string name = std::to_string(harm.number);
      for (const std::string command : {"check", "run"}) {
        all += "{ drybus " + command + " " + scenario + " --firmware module=" + library("harm_" + name) +
               "; echo \"exit $?\"; } >" + folder.file(command + name) + " 2>&1 & ";
      }
    }
    shell(all + "wait");
    for (const Harm& harm : harms) {
      const std::string name = std::to_string(harm.number);
      for (const std::string command : {"check", "run"}) {
        CAPTURE(command);
        const std::string told = content_of(folder.file(command + name));
        says(told, "exit 1");
        says(told, harm.how);
        says(told, harm.when.substr(0, harm.when.find("{}")) + library("harm_" + name));
      }
    }
  }

  TEST_CASE("an exception out of a handler is told with device, handler and time, on any number of threads") {
    const Folder folder;
    const std::string scenario = folder.write("a.yaml", pressed);
    const std::string thrower = " --firmware module=" + library("thrower_1");
    const std::string what =
        "M1: the firmware 'thrower', in its handler for button, throws a C++ exception out of it: no such? "
        "scene";
    for (const std::string& command :
         {"run " + scenario, "check -j 2 " + scenario, "sweep -j 2 -n 600 " + scenario,
          "why " + scenario + " M1.address", "hunt -j 2 --for setup-split " + scenario,
          "draw -o " + folder.file("a.svg") + " " + scenario}) {
      CAPTURE(command);
      const Ran ran = drybus_program(command + thrower);
      CHECK(ran.exit_code == 1);
      std::string told = ran.out + ran.err;
      for (std::size_t at = 0; (at = told.find("\n  ", at)) != std::string::npos;) told.replace(at, 3, " ");
      says(told, what);
      if (!command.starts_with("hunt") && !command.starts_with("why")) says(told, "; at 0:0");
    }
    const Ran number = drybus_program("check " + scenario + " --firmware module=" + library("thrower_2"));
    CHECK(number.exit_code == 1);
    says(number.out, "in its handler for button, throws a C++ exception out of it, in ");
    says(number.out, "; at 0:01.0");
    const Ran described = drybus_program("run " + scenario + " --firmware module=" + library("thrower_3"));
    CHECK(described.exit_code == 2);
    says(described.err, "drybus_firmware_describe throws a C++ exception out of it: not today");
  }
}
