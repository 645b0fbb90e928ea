#include "tools/load/scenario_files.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/unusable.h"
#include "tools/script/line_reader.h"

namespace drybus::tools {

using model::tr;

/// The key that says what a file is stands near its top.
constexpr std::size_t most_head_bytes = 65'536;

namespace {

/// Whether a line near the top of the file begins with the key.
bool begins_with(const std::filesystem::path& path, const std::string& key) {
  // A pipe would keep us waiting, and a file may be one endless line: the reader refuses both, so look no further.
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error)) return false;
  std::string head(most_head_bytes, '\0');
  std::ifstream file{path, std::ios::binary};
  file.read(head.data(), static_cast<std::streamsize>(head.size()));
  head.resize(static_cast<std::size_t>(file.gcount()));
  return head.starts_with(key) || head.find("\n" + key) != std::string::npos;
}

}  // namespace

bool begins_scenario(const std::filesystem::path& path) {
  return begins_with(path, "drybus:");
}

bool begins_report(const std::filesystem::path& path) {
  return begins_with(path, "drybus-report:");
}

std::vector<std::string> scenario_files(std::span<const std::string> paths, Speaking speaking) {
  namespace fs = std::filesystem;
  std::vector<std::string> files;
  for (const std::string& path : paths) {
    std::error_code error;
    if (!fs::exists(path, error)) throw Unusable{tr("{}: there is no such file or folder", path)};
    if (!fs::is_directory(path, error)) {
      files.push_back(path);
      continue;
    }
    std::vector<std::string> below;
    for (const auto& entry :
         fs::recursive_directory_iterator(path, fs::directory_options::skip_permission_denied, error)) {
      if (entry.is_regular_file(error) && entry.path().extension() == ".yaml" &&
          begins_scenario(entry.path()) &&
          (speaking == Speaking::anything || !protocol_named_in(entry.path()))) {
        below.push_back(entry.path().string());
      }
    }
    std::sort(below.begin(), below.end());
    files.insert(files.end(), below.begin(), below.end());
  }
  // They are read later, some in other processes; what must not be written over shall be told before that.
  for (const std::string& file : files) note_read(file);
  return files;
}

}  // namespace drybus::tools
