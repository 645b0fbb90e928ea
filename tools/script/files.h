// The one seam to the outside: where the texts of scenarios, sites and families come from.
#pragma once

#include <filesystem>
#include <string>
#include <variant>
#include <vector>

namespace drybus::tools {

/// Larger files are refused unread.
inline constexpr std::size_t max_file_bytes = std::size_t{4} << 20;

/// A file that a reading took in. The path is as it was asked for.
struct SourceFile {
  std::string path;
  std::string text;
};

class Files {
 public:
  virtual ~Files() = default;

  /// Why a file cannot be read, in words.
  struct Refusal {
    std::string why;
  };
  [[nodiscard]] virtual std::variant<std::string, Refusal> read(const std::filesystem::path& path) const = 0;
  [[nodiscard]] virtual bool exists(const std::filesystem::path& path) const = 0;
  /// The names, without their ending, of the YAML files in a folder, sorted; none when there is no such
  /// folder.
  [[nodiscard]] virtual std::vector<std::string> yaml_names(const std::filesystem::path& folder) const = 0;
};

/// The file system. Folders, devices, pipes and files over the limit are refused.
class DiskFiles final : public Files {
 public:
  explicit DiskFiles(std::size_t limit_bytes = max_file_bytes) : limit_bytes_(limit_bytes) {}
  [[nodiscard]] std::variant<std::string, Refusal> read(const std::filesystem::path& path) const override;
  [[nodiscard]] bool exists(const std::filesystem::path& path) const override;
  [[nodiscard]] std::vector<std::string> yaml_names(const std::filesystem::path& folder) const override;

 private:
  std::size_t limit_bytes_;
};

/// Texts that were brought along; nothing else exists.
class BundledFiles final : public Files {
 public:
  explicit BundledFiles(std::vector<SourceFile> files) : files_(std::move(files)) {}
  [[nodiscard]] std::variant<std::string, Refusal> read(const std::filesystem::path& path) const override;
  [[nodiscard]] bool exists(const std::filesystem::path& path) const override;
  [[nodiscard]] std::vector<std::string> yaml_names(const std::filesystem::path& folder) const override;

 private:
  std::vector<SourceFile> files_;
};

}  // namespace drybus::tools
