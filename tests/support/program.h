// Running the drybus program as a person would, from the source folder.
#pragma once

#include <string>

namespace drybus::tests {

struct Ran {
  int exit_code = -1;
  std::string out;
  std::string err;
};

/// Runs `drybus ARGUMENTS` (a shell's words) in the source folder, with no terminal.
Ran drybus_program(const std::string& arguments);

/// Runs a whole shell command in the source folder; `drybus` stands for the program that was built.
Ran shell(const std::string& command);

}  // namespace drybus::tests
