// A file that is written beside its place and moved there when it is whole.
#pragma once

#include <filesystem>
#include <string_view>

namespace drybus::tools {

/// Removes the names of all that is not whole yet; for whoever ends the program on the spot. A signal's handler may call it.
void remove_unfinished() noexcept;

/// Until it becomes real, the content has no name where the file system allows that, and else one that no other
/// process has, which is removed with this object or when a signal ends the program. So whatever stops the program,
/// nothing that it leaves behind is in the way of another.
class StagedFile {
 public:
  /// `path` is for messages, `target` what is to be written, no link. `content` has to live as long.
  StagedFile(std::filesystem::path path, std::filesystem::path target, std::string_view content);
  ~StagedFile();
  StagedFile(const StagedFile&) = delete;
  StagedFile& operator=(const StagedFile&) = delete;

  /// Writes the content to the disk, beside the target and with its permissions if it is there. Throws Unusable.
  void write();

  /// Puts it in the place of the target. Throws Unusable.
  void become_real();

 private:
  [[nodiscard]] bool open_nameless();
  void open_named();
  void fill();
  [[nodiscard]] bool link();
  [[nodiscard]] std::filesystem::path new_name() const;
  void take_name(const std::filesystem::path& name);
  void drop_name();
  void close();

  std::filesystem::path path_;
  std::filesystem::path target_;
  std::string_view content_;
  std::filesystem::path named_;  ///< empty: it has no name
  int file_ = -1;
};

}  // namespace drybus::tools
