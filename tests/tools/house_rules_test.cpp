// Reads the source tree and holds it to the house rules, naming what to use instead.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <istream>
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

/// Where a switch has a `default`, and over what: no enumeration of ours, which the compiler would hold us to.
const std::map<std::string, std::string>& switches_with_default() {
  static const std::map<std::string, std::string> all = {
      {"model/firmware/host.cpp", "any number can come in from C"},
      {"tools/base/output_place.cpp", "kinds of files of the system, of which there may be more"},
      {"tools/base/xml.cpp", "characters"},
      {"tools/picture/svg.cpp", "characters"},
      {"tools/seat/foresight.cpp", "instructions of a processor, of which there are many more"},
      {"tools/seat/guard.cpp", "signals of the system"},
      {"tools/seat/instruction.h", "kinds of instructions, of which there are many more"},
      {"tools/seat/loaded_image.cpp", "tags of an ELF file, of which there are many more"},
  };
  return all;
}

/// The labels of a switch from its `default` back to its head: what is indented as the `default` is.
std::string labels_before(const std::vector<std::string>& lines, std::size_t at) {
  const std::size_t indent = lines[at].find_first_not_of(' ');
  std::string labels;
  for (std::size_t i = at; i-- > 0;) {
    const std::size_t here = lines[i].find_first_not_of(' ');
    if (here == std::string::npos || here > indent) continue;
    if (here < indent) break;
    labels += lines[i] + "\n";
  }
  return labels;
}

/// `default` at these lines, from 1: those of a switch over an enumeration of ours, and others.
struct Defaults {
  std::vector<std::size_t> over_ours;
  std::vector<std::size_t> over_others;
};

Defaults defaults_in(std::istream& in) {
  std::vector<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  // Enumerators are named after their type; constants of ours, without a type, and the system's are not.
  const std::regex enumerator{R"(case (\w+::)*[A-Z]\w*::\w+\s*:)"};
  const std::regex label{R"(^\s*default\s*:)"};
  Defaults found;
  for (std::size_t i = 0; i < lines.size(); ++i) {
    if (!std::regex_search(lines[i], label)) continue;
    const bool ours = std::regex_search(labels_before(lines, i), enumerator);
    (ours ? found.over_ours : found.over_others).push_back(i + 1);
  }
  return found;
}

TEST_CASE("a default beside an enumerator is seen, one beside numbers or a constant is not taken for it") {
  std::istringstream text{
      "  switch (a) {\n    case Pattern::dark:\n      return 1;\n    default:\n      return 0;\n  }\n"
      "  switch (b) {\n    case 1: {\n      case_of(Pattern::dark);\n    }\n    default:\n      return 0;\n  "
      "}\n"
      "  switch (c) {\n    case sim::medium_end_event:\n      return 1;\n    default:\n      return 0;\n  }\n"
      "  Bench() = default;\n"
      "  switch (d) {\n    case model::Fact::site: return 1;\n    case model::Fact::zone:\n      switch (e) "
      "{\n"
      "        case 1:\n          break;\n        default:\n          break;\n      }\n    default: break;\n "
      " }\n"};
  const Defaults found = defaults_in(text);
  CHECK(found.over_ours == std::vector<std::size_t>{4, 30});
  CHECK(found.over_others == std::vector<std::size_t>{11, 17, 27});
}

TEST_CASE("no switch over an enumeration of ours has a default") {
  std::set<std::string> used;
  std::vector<fs::path> files = sources();
  for (const auto& entry : fs::recursive_directory_iterator(fs::path{DRYBUS_SOURCE_DIR} / "tests")) {
    const auto extension = entry.path().extension();
    if (extension == ".h" || extension == ".cpp") files.push_back(entry.path());
  }
  for (const fs::path& path : files) {
    const std::string name = fs::relative(path, DRYBUS_SOURCE_DIR).string();
    std::ifstream file{path};
    const Defaults found = defaults_in(file);
    for (const std::size_t line : found.over_ours)
      CHECK_MESSAGE(false,
                    name << ":" << line << ": name the enumerators, so that the compiler tells of a new one");
    if (found.over_others.empty() || name.starts_with("tests/")) continue;
    used.insert(name);
    CHECK_MESSAGE(switches_with_default().count(name) == 1,
                  name << ":" << found.over_others.front() << ": a default; over what, and why?");
  }
  for (const auto& [name, reason] : switches_with_default())
    CHECK_MESSAGE(used.count(name) == 1, name << " has no default any more");
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
