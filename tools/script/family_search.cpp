#include "tools/script/family_search.h"

#include <algorithm>
#include <cstdlib>
#include <string_view>

namespace drybus::tools {

namespace fs = std::filesystem;

namespace {

/// `families` in a folder and in every folder above it.
void add_upwards(fs::path folder, std::vector<fs::path>& folders) {
  while (true) {
    folders.push_back(folder / "families");
    if (folder.empty() || folder.filename() == ".." || folder == folder.parent_path()) return;
    folder = folder.parent_path();
  }
}

}  // namespace

std::vector<fs::path> default_family_folders() {
  std::vector<fs::path> folders;
  if (const char* set = std::getenv("DRYBUS_FAMILIES")) {
    std::string_view list = set;
    while (!list.empty()) {
      const std::size_t end = std::min(list.find(':'), list.size());
      if (end > 0) folders.emplace_back(list.substr(0, end));
      list.remove_prefix(std::min(end + 1, list.size()));
    }
  }
  std::error_code error;
  const fs::path program = fs::read_symlink("/proc/self/exe", error).parent_path();
  if (!error) {
    folders.push_back(program.parent_path() / "scenarios" / "families");
    folders.push_back(program.parent_path() / "share" / "drybus" / "families");
  }
  return folders;
}

bool is_family_path(const std::string& ref) {
  return ref.ends_with(".yaml");
}

std::vector<fs::path> family_folders(const fs::path& folder, const ReadOptions& options) {
  std::vector<fs::path> folders;
  add_upwards(folder.lexically_normal(), folders);
  std::error_code error;
  const fs::path absolute = fs::absolute(folder.empty() ? "." : folder, error).lexically_normal();
  if (!error) add_upwards(absolute, folders);
  folders.insert(folders.end(), options.family_folders.begin(), options.family_folders.end());
  return folders;
}

std::optional<fs::path> find_family(const std::string& ref, const fs::path& folder,
                                    const ReadOptions& options) {
  const Files& files = files_of(options);
  if (is_family_path(ref)) {
    const fs::path file = (folder / ref).lexically_normal();
    return files.exists(file) ? std::optional{file} : std::nullopt;
  }
  if (ref.empty() || ref.find('/') != std::string::npos || ref.find('\0') != std::string::npos)
    return std::nullopt;
  for (const fs::path& candidate : family_folders(folder, options)) {
    const fs::path file = candidate / (ref + ".yaml");
    if (files.exists(file)) return file;
  }
  return std::nullopt;
}

std::vector<std::string> known_families(const fs::path& folder, const ReadOptions& options) {
  std::vector<std::string> names;
  for (const fs::path& candidate : family_folders(folder, options)) {
    const auto found = files_of(options).yaml_names(candidate);
    names.insert(names.end(), found.begin(), found.end());
  }
  std::sort(names.begin(), names.end());
  names.erase(std::unique(names.begin(), names.end()), names.end());
  return names;
}

const Files& files_of(const ReadOptions& options) {
  static const DiskFiles disk;
  // cppcheck-suppress returnTempReference // neither is a temporary
  return options.files == nullptr ? disk : *options.files;
}

}  // namespace drybus::tools
