#include "tests/support/source_tree.h"

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <set>

namespace drybus::tests {

namespace fs = std::filesystem;

namespace {

std::vector<fs::path> trees() {
  std::vector<fs::path> all;
  if (const char* tried = std::getenv("DRYBUS_TRIED")) all.emplace_back(tried);
  all.emplace_back(DRYBUS_SOURCE_DIR);
  return all;
}

}  // namespace

fs::path source_file(const std::string& name) {
  for (const fs::path& tree : trees()) {
    if (fs::exists(tree / name)) return tree / name;
  }
  return fs::path{DRYBUS_SOURCE_DIR} / name;
}

std::string source_text(const std::string& name) {
  std::ifstream in{source_file(name)};
  REQUIRE_MESSAGE(in, name);
  return std::string{std::istreambuf_iterator<char>{in}, {}};
}

std::vector<std::string> source_names(const std::string& folder, const std::string& extension) {
  std::set<std::string> names;
  for (const fs::path& tree : trees()) {
    if (!fs::is_directory(tree / folder)) continue;
    for (const auto& entry : fs::directory_iterator(tree / folder)) {
      if (entry.path().extension() == extension)
        names.insert(folder + "/" + entry.path().filename().string());
    }
  }
  return {names.begin(), names.end()};
}

}  // namespace drybus::tests
