// Every output that the README and the handbook show is what the program prints. A line of "..." stands for lines left out.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <optional>
#include <sstream>
#include <vector>

#include "tests/support/files.h"
#include "tests/support/own_tmp.h"
#include "tests/support/program.h"

namespace {

using namespace drybus::tests;

struct Shown {
  std::string command;
  std::vector<std::string> output;
  int line = 0;
};

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream stream{text};
  for (std::string line; std::getline(stream, line);) lines.push_back(line);
  return lines;
}

std::vector<Shown> shown_in(const std::string& path) {
  std::ifstream file{path};
  std::vector<Shown> all;
  bool inside = false;
  int number = 0;
  for (std::string line; std::getline(file, line);) {
    ++number;
    if (line.starts_with("```")) {
      inside = line == "```console";
    } else if (inside && line.starts_with("$ ")) {
      all.push_back({line.substr(2), {}, number});
    } else if (inside && !all.empty()) {
      all.back().output.push_back(line);
    }
  }
  return all;
}

/// A line that ends in "..." stands for any that begins as it does.
bool is_line(const std::string& shown, const std::string& real) {
  return shown == real || (shown.ends_with("...") && real.starts_with(shown.substr(0, shown.size() - 3)));
}

/// Matches line by line; "..." takes as few lines as it can.
bool matches(const std::vector<std::string>& shown, std::size_t s, const std::vector<std::string>& real,
             std::size_t r) {
  if (s == shown.size()) return r == real.size();
  if (shown[s] == "...") {
    for (std::size_t skip = r; skip <= real.size(); ++skip) {
      if (matches(shown, s + 1, real, skip)) return true;
    }
    return false;
  }
  return r < real.size() && is_line(shown[s], real[r]) && matches(shown, s + 1, real, r + 1);
}

/// What the commands find in their environment, as long as this lives.
class Environment {
 public:
  explicit Environment(const std::map<std::string, std::string>& values) {
    for (const auto& [name, value] : values) {
      const char* before = std::getenv(name.c_str());
      before_[name] = before == nullptr ? std::nullopt : std::optional<std::string>{before};
      ::setenv(name.c_str(), value.c_str(), 1);
    }
  }
  ~Environment() {
    for (const auto& [name, value] : before_) {
      if (value) {
        ::setenv(name.c_str(), value->c_str(), 1);
      } else {
        ::unsetenv(name.c_str());
      }
    }
  }
  Environment(const Environment&) = delete;
  Environment& operator=(const Environment&) = delete;

 private:
  std::map<std::string, std::optional<std::string>> before_;
};

void check_all(const std::string& path, std::size_t at_least, const Folder& folder) {
  const std::vector<Shown> all = shown_in(path);
  REQUIRE(all.size() >= at_least);
  for (const Shown& shown : all) {
    CAPTURE(path);
    CAPTURE(shown.line);
    CAPTURE(shown.command);
    const Ran ran = shell_with_tmp(folder, shown.command);
    CAPTURE(ran.out);
    CAPTURE(ran.err);
    CHECK(matches(shown.output, 0, lines_of(ran.out + ran.err), 0));
  }
}

TEST_CASE("every output that the README shows is what the program prints") {
  const Folder folder;
  check_all(DRYBUS_SOURCE_DIR "/README.md", 3, folder);
}

TEST_CASE("every command of the handbook prints what stands below it") {
  const Folder folder;
  const Environment environment{
      {{"PATH", std::filesystem::path{DRYBUS_PROGRAM}.parent_path().string() + ":" + std::getenv("PATH")},
       {"OMPI_ALLOW_RUN_AS_ROOT", "1"},
       {"OMPI_ALLOW_RUN_AS_ROOT_CONFIRM", "1"},
       {"OMPI_MCA_rmaps_base_oversubscribe", "1"}}};
  for (const auto& [page, at_least] : std::map<std::string, std::size_t>{{"install", 3},
                                                                         {"trainer", 10},
                                                                         {"support", 6},
                                                                         {"firmware", 9},
                                                                         {"debugger", 5},
                                                                         {"cluster", 5}}) {
    check_all(DRYBUS_SOURCE_DIR "/tools/handbook/" + page + ".md", at_least, folder);
  }
}

/// What stands in a block that is only shown, line by line; each is run by another test, or by hand.
TEST_CASE("what the handbook shows without its output is run elsewhere") {
  const std::map<std::string, std::string> run_by{
      {"tools/package", "tests/packages"},
      {"apt-get install ./build/packages", "tools/clean-root"},
      {"tools/quickstart", "acceptance"},
      {"tools/verify", "CI"},
      {"drybus exercise", "tests/tools/commands/exercise_test.cpp"},
      {"drybus panel", "tests/tools/panel"},
      {"drybus-array", "tests/cluster/slurm_test.py"},
      {"drybus call /tmp/drybus-call-fourth.yaml --page", "tests/browser/call_page.mjs"},
      {"gcc -g", "tests/firmware/instrumented_test.py"},
      {"clang -g", "tests/firmware/instrumented_test.py"},
      {"gcov ", "tests/firmware/instrumented_test.py"},
      {"llvm-", "tests/firmware/instrumented_test.py"},
      {"LLVM_PROFILE_FILE", "tests/firmware/instrumented_test.py"},
      {"LD_PRELOAD", "tests/firmware/instrumented_test.py"},
      {"drybus check scenarios --firmware module=dimmer.so", "tests/firmware/instrumented_test.py"},
  };
  for (const auto& entry : std::filesystem::directory_iterator(DRYBUS_SOURCE_DIR "/tools/handbook")) {
    std::ifstream file{entry.path()};
    bool inside = false;
    for (std::string line; std::getline(file, line);) {
      if (line.starts_with("```")) {
        inside = line == "```sh";
      } else if (inside) {
        const bool known = std::any_of(run_by.begin(), run_by.end(),
                                       [&](const auto& each) { return line.starts_with(each.first); });
        CHECK_MESSAGE(known, entry.path().filename().string() << ": " << line);
      }
    }
  }
}

TEST_CASE("the handbook is made of its pages, the commands and the schemas, and its links lead somewhere") {
  const Folder folder;
  const Ran ran = shell("python3 tools/handbook/build.py " DRYBUS_PROGRAM " . " + folder.file("site"));
  CAPTURE(ran.err);
  REQUIRE(ran.exit_code == 0);
  const std::string commands = content_of(folder.file("site") + "/commands.html");
  CHECK(commands.find("<code>--most-events VALUE</code>") != std::string::npos);
  const std::string schemas = content_of(folder.file("site") + "/schemas.html");
  CHECK(schemas.find("drybus-family") != std::string::npos);
  CHECK(content_of(folder.file("site") + "/index.html").find("href=\"commands.html\"") != std::string::npos);
}

}  // namespace
