// Every output that the README shows is what the program prints. A line of "..." stands for lines left out.
#include <doctest/doctest.h>

#include <fstream>
#include <sstream>
#include <vector>

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
  return r < real.size() && shown[s] == real[r] && matches(shown, s + 1, real, r + 1);
}

TEST_CASE("every output that the README shows is what the program prints") {
  const std::vector<Shown> all = shown_in(DRYBUS_SOURCE_DIR "/README.md");
  REQUIRE(all.size() >= 3);
  for (const Shown& shown : all) {
    if (!shown.command.starts_with("drybus ")) continue;
    CAPTURE(shown.line);
    CAPTURE(shown.command);
    const Ran ran = shell(shown.command);
    CAPTURE(ran.out);
    CAPTURE(ran.err);
    CHECK(matches(shown.output, 0, lines_of(ran.out + ran.err), 0));
  }
}

}  // namespace
