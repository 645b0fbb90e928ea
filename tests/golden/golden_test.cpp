// Stories, answers and tables as they are read, compared as text with what tests/golden holds.
#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "tests/support/program.h"

namespace {

using namespace drybus::tests;

const std::string folder = DRYBUS_SOURCE_DIR "/tests/golden/";

struct Golden {
  std::string file;
  std::string command;
};

std::vector<Golden> all_golden() {
  std::vector<Golden> all;
  std::ifstream table{folder + "commands.txt"};
  for (std::string line; std::getline(table, line);) {
    const auto colon = line.find(": ");
    if (line.starts_with('#') || colon == std::string::npos) continue;
    all.push_back({line.substr(0, colon), line.substr(colon + 2)});
  }
  return all;
}

std::string told(const std::string& command) {
  const Ran ran = shell(command);
  return ran.out + ran.err + "exit " + std::to_string(ran.exit_code) + "\n";
}

std::string content(const std::string& file) {
  std::ostringstream text;
  text << std::ifstream{folder + file}.rdbuf();
  return text.str();
}

/// The first line in which the two differ, for a message that can be read.
std::string first_difference(const std::string& stored, const std::string& now) {
  std::istringstream was{stored};
  std::istringstream is{now};
  for (int number = 1;; ++number) {
    std::string a;
    std::string b;
    const bool more_a = static_cast<bool>(std::getline(was, a));
    const bool more_b = static_cast<bool>(std::getline(is, b));
    if (!more_a && !more_b) return "";
    if (a != b || more_a != more_b)
      return "line " + std::to_string(number) + "\n  stored: " + a + "\n  now:    " + b;
  }
}

TEST_CASE("golden: what commands print is what is stored") {
  const auto all = all_golden();
  REQUIRE(all.size() > 15);
  const bool accept = std::getenv("DRYBUS_ACCEPT_GOLDEN") != nullptr;
  for (const Golden& golden : all) {
    const std::string now = told(golden.command);
    if (accept) std::ofstream{folder + golden.file} << now;
    const std::string stored = content(golden.file);
    CHECK_MESSAGE(now == stored, golden.command << " differs from tests/golden/" << golden.file << " in "
                                                << first_difference(stored, now));
  }
}

}  // namespace
