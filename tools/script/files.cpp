#include "tools/script/files.h"

#include <algorithm>
#include <fstream>

#include "model/words/words.h"
#include "tools/base/file_claims.h"

namespace drybus::tools {

using model::tr;

namespace fs = std::filesystem;

namespace {

std::string too_large(std::size_t limit_bytes) {
  return tr("is larger than {} MiB; no file of drybus needs as much", limit_bytes >> 20);
}

/// Empty when the path is a file that can be read.
std::string why_no_file(const fs::path& path, std::size_t limit_bytes) {
  std::error_code error;
  const fs::file_status status = fs::status(path, error);
  switch (status.type()) {
    case fs::file_type::regular:
      break;
    case fs::file_type::not_found:
      return tr("there is no such file");
    case fs::file_type::directory:
      return tr("is a folder, not a file");
    case fs::file_type::none:
    case fs::file_type::unknown:
      return tr("cannot be read: {}", error.message());
    case fs::file_type::symlink:
    case fs::file_type::block:
    case fs::file_type::character:
    case fs::file_type::fifo:
    case fs::file_type::socket:
      return tr("is no regular file");
  }
  return fs::file_size(path, error) > limit_bytes && !error ? too_large(limit_bytes) : "";
}

}  // namespace

std::variant<std::string, Files::Refusal> DiskFiles::read(const fs::path& path) const {
  if (std::string why = why_no_file(path, limit_bytes_); !why.empty()) return Refusal{std::move(why)};
  std::ifstream in{path, std::ios::binary};
  if (!in) return Refusal{tr("cannot be opened for reading")};
  note_read(path);
  // Some files say that they are empty and are not: what counts is what comes.
  std::string text;
  std::vector<char> chunk(std::size_t{1} << 16);
  do {
    in.read(chunk.data(), static_cast<std::streamsize>(chunk.size()));
    text.append(chunk.data(), static_cast<std::size_t>(in.gcount()));
    if (text.size() > limit_bytes_) return Refusal{too_large(limit_bytes_)};
  } while (in);
  if (in.bad()) return Refusal{tr("cannot be read to its end")};
  return text;
}

bool DiskFiles::exists(const fs::path& path) const {
  std::error_code error;
  return fs::is_regular_file(path, error);
}

std::vector<std::string> DiskFiles::yaml_names(const fs::path& folder) const {
  std::vector<std::string> names;
  std::error_code error;
  for (fs::directory_iterator at{folder, error}, end; !error && at != end; at.increment(error)) {
    if (at->path().extension() == ".yaml") names.push_back(at->path().stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

std::variant<std::string, Files::Refusal> BundledFiles::read(const fs::path& path) const {
  for (const SourceFile& file : files_) {
    if (fs::path{file.path}.lexically_normal() == path.lexically_normal()) return file.text;
  }
  return Refusal{tr("was not brought along")};
}

bool BundledFiles::exists(const fs::path& path) const {
  return std::holds_alternative<std::string>(read(path));
}

std::vector<std::string> BundledFiles::yaml_names(const fs::path& folder) const {
  std::vector<std::string> names;
  for (const SourceFile& file : files_) {
    const fs::path path = fs::path{file.path}.lexically_normal();
    const bool inside = path.parent_path() == folder.lexically_normal();
    if (inside && path.extension() == ".yaml") names.push_back(path.stem().string());
  }
  std::sort(names.begin(), names.end());
  return names;
}

}  // namespace drybus::tools
