// Files that a test writes and reads.
#pragma once

#include <filesystem>
#include <string>

namespace drybus::tests {

/// A folder of the test's own, gone afterwards. No other has the same, not even in another run at the same time.
class Folder {
 public:
  Folder();
  ~Folder();
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  /// Where a file of that name lies or would lie.
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }
  /// Writes a file, and the folders that it names, and returns where it lies.
  std::string write(const std::string& name, const std::string& text) const;

 private:
  std::filesystem::path path_;
};

/// All that a file holds; nothing where there is none.
std::string content_of(const std::filesystem::path& path);

}  // namespace drybus::tests
