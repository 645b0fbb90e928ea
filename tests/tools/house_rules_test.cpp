// Reads the source tree and holds it to the house rules, naming what to use instead.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <regex>
#include <set>
#include <sstream>
#include <string>
#include <vector>

namespace {

namespace fs = std::filesystem;

struct Rule {
  std::string folders;  ///< a regular expression for the path below the source folder
  std::string pattern;
  std::string instead;
};

const std::vector<Rule>& rules() {
  static const std::vector<Rule> all = {
      {"sim/.*", R"(#include *[<"](model|tools)/)", "sim depends on nothing of ours"},
      {"model/.*", R"(#include *[<"]tools/)", "model depends on sim only"},
      {"(sim|model)/.*",
       R"(#include *[<"](yaml-cpp|boost/asio|boost/beast|iostream|fstream|filesystem|cstdio))",
       "files, terminals and sockets belong in tools"},
      {"sim/.*", R"(\b([Pp]late|[Dd]immer|[Ll]ighting)\b)", "sim knows nothing of lighting"},
      {"(sim|model)/.*", R"(std::(mt19937|random_device|uniform_|normal_|exponential_|bernoulli_))",
       "sim::Stream: the same draws on every compiler"},
      {"(sim|model)/.*", R"(system_clock|steady_clock|\btime\(nullptr\))",
       "World::now: there is no other clock"},
      {"(sim|model)/.*", R"(std::unordered_)", "an ordered container: iteration may reach a digest"},
      {"(sim|model|tools)/.*\\.h", R"(^\s*using namespace (?!std::chrono_literals))",
       "names in full: a header decides for everybody"},
      {"(sim|model|tools)/.*", R"(\bdelete \w|\bnew [A-Z]\w*[({;])", "std::make_unique, or a value"},
  };
  return all;
}

std::vector<fs::path> sources() {
  std::vector<fs::path> files;
  for (const char* folder : {"sim", "model", "tools"}) {
    for (const auto& entry : fs::recursive_directory_iterator(fs::path{DRYBUS_SOURCE_DIR} / folder)) {
      const auto extension = entry.path().extension();
      if (extension == ".h" || extension == ".cpp") files.push_back(entry.path());
    }
  }
  std::sort(files.begin(), files.end());
  return files;
}

TEST_CASE("the source tree keeps the house rules") {
  const auto files = sources();
  REQUIRE(files.size() > 30);
  for (const fs::path& path : files) {
    const std::string name = fs::relative(path, DRYBUS_SOURCE_DIR).string();
    std::vector<const Rule*> applying;
    for (const Rule& rule : rules()) {
      if (std::regex_match(name, std::regex{rule.folders})) applying.push_back(&rule);
    }
    std::ifstream file{path};
    int number = 0;
    for (std::string line; std::getline(file, line);) {
      ++number;
      for (const Rule* rule : applying) {
        const bool breaks = std::regex_search(line, std::regex{rule->pattern});
        CHECK_MESSAGE(!breaks, name << ":" << number << ": " << line << "\n  instead: " << rule->instead);
      }
    }
  }
}

/// Which rooms each room may know, itself among them; read from the table.
std::map<std::string, std::set<std::string>> rooms() {
  std::map<std::string, std::set<std::string>> known;
  std::ifstream table{fs::path{DRYBUS_SOURCE_DIR} / "tests/data/rooms.txt"};
  for (std::string line; std::getline(table, line);) {
    if (line.empty() || line.front() == '#') continue;
    const std::string room = line.substr(0, line.find(':'));
    std::set<std::string>& may_know = known[room];
    may_know.insert(room);
    std::istringstream below{line.substr(line.find(':') + 1)};
    for (std::string each; below >> each;) {
      REQUIRE_MESSAGE(known.count(each) == 1,
                      room << " names " << each << ", which stands below it or nowhere");
      may_know.insert(known[each].begin(), known[each].end());
    }
  }
  return known;
}

/// The one header that belongs to everybody: firmware is written against it, and it is C.
bool is_firmware_header(const std::string& name) {
  return name == "model/firmware.h";
}

TEST_CASE("every source has its room, and knows only rooms below it") {
  const auto known = rooms();
  REQUIRE(known.size() > 20);
  const std::regex include{R"(^\s*#\s*include\s+"([^"]+)/[^/"]+")"};
  for (const fs::path& path : sources()) {
    const std::string name = fs::relative(path, DRYBUS_SOURCE_DIR).string();
    if (is_firmware_header(name)) continue;
    const std::string room = fs::path{name}.parent_path().string();
    const auto here = known.find(room);
    CHECK_MESSAGE(here != known.end(), name << " lies in no room of tests/data/rooms.txt");
    if (here == known.end()) continue;
    std::ifstream file{path};
    for (std::string line; std::getline(file, line);) {
      std::smatch found;
      if (!std::regex_search(line, found, include) || is_firmware_header(line.substr(line.find('"') + 1, 16)))
        continue;
      const std::string other = found[1];
      CHECK_MESSAGE(here->second.count(other) == 1,
                    name << " (" << room << ") may not know " << other << ": " << line);
    }
  }
}

TEST_CASE("no source is longer than 500 lines") {
  for (const fs::path& path : sources()) {
    std::ifstream file{path};
    const auto lines = std::count(std::istreambuf_iterator<char>{file}, {}, '\n');
    CHECK_MESSAGE(lines <= 500, fs::relative(path, DRYBUS_SOURCE_DIR).string()
                                    << " has " << lines << " lines: two ideas?");
  }
}

TEST_CASE("the top level is the one that was agreed") {
  for (const auto& entry : fs::directory_iterator(DRYBUS_SOURCE_DIR)) {
    const std::string name = entry.path().filename().string();
    const std::vector<std::string> agreed = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "sim",
                                             "model",          "scenarios", "tools",         "tests"};
    const bool known = name.starts_with(".") || name.starts_with("build") ||
                       std::find(agreed.begin(), agreed.end(), name) != agreed.end();
    CHECK_MESSAGE(known, name << " is beyond the agreed top level");
  }
}

}  // namespace
