#include "tools/scenario_files.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "tools/command.h"

namespace drybus::tools {

bool begins_scenario(const std::filesystem::path& path) {
  std::ifstream file{path};
  std::string line;
  for (int lines = 0; lines < 200 && std::getline(file, line); ++lines) {
    if (line.starts_with("drybus:")) return true;
  }
  return false;
}

std::vector<std::string> scenario_files(std::span<const std::string> paths) {
  namespace fs = std::filesystem;
  std::vector<std::string> files;
  for (const std::string& path : paths) {
    std::error_code error;
    if (!fs::exists(path, error)) throw Unusable{fmt::format("{}: there is no such file or folder", path)};
    if (!fs::is_directory(path, error)) {
      files.push_back(path);
      continue;
    }
    std::vector<std::string> below;
    for (const auto& entry : fs::recursive_directory_iterator(path, fs::directory_options::skip_permission_denied, error)) {
      if (entry.is_regular_file(error) && entry.path().extension() == ".yaml" && begins_scenario(entry.path())) {
        below.push_back(entry.path().string());
      }
    }
    std::sort(below.begin(), below.end());
    files.insert(files.end(), below.begin(), below.end());
  }
  return files;
}

}  // namespace drybus::tools
