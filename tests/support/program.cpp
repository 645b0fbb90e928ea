#include "tests/support/program.h"

#include <sys/wait.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

namespace drybus::tests {

namespace {

std::string text_of(const std::filesystem::path& path) {
  std::ifstream file{path};
  std::ostringstream text;
  text << file.rdbuf();
  return text.str();
}

}  // namespace

Ran shell(const std::string& command) {
  const auto folder = std::filesystem::temp_directory_path() / ("drybus-test-" + std::to_string(::getpid()));
  std::filesystem::create_directories(folder);
  const auto out = folder / "out";
  const auto err = folder / "err";
  const std::string line = "cd '" DRYBUS_SOURCE_DIR "' && drybus() { '" DRYBUS_PROGRAM "' \"$@\"; } && { " +
                           command + "; } >'" + out.string() + "' 2>'" + err.string() + "' </dev/null";
  const int status = std::system(line.c_str());
  Ran ran{WIFEXITED(status) ? WEXITSTATUS(status) : -1, text_of(out), text_of(err)};
  std::filesystem::remove_all(folder);
  return ran;
}

Ran drybus_program(const std::string& arguments) {
  return shell("drybus " + arguments);
}

}  // namespace drybus::tests
