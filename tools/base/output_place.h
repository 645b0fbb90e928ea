// Where an output goes: a file, which is written beside its place and moved there, or what is written to as it is.
#pragma once

#include <sys/types.h>

#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

namespace drybus::tools {

/// What a file is, however it is spelt. One that is not there yet is a name in a folder.
struct FileIdentity {
  dev_t device = 0;
  ino_t inode = 0;
  std::int64_t born_ns =
      0;  ///< a number that becomes free is soon another file's; 0 where the file system keeps none
  std::string name;  ///< empty for a file that is there

  friend auto operator<=>(const FileIdentity&, const FileIdentity&) = default;
};

struct OutputPlace {
  enum class Kind {
    file,
    straight,    ///< a terminal, the null device: opened and written to
    descriptor,  ///< open already: standard output and others that the program was started with, a pipe
  };
  Kind kind = Kind::file;
  std::filesystem::path target;          ///< with all links followed: what is really written
  int descriptor = -1;                   ///< of a descriptor
  std::optional<FileIdentity> identity;  ///< none where several outputs do each other no harm
};

/// "-" is standard output, as /dev/stdout is. Throws Unusable where nothing can be written: no such folder, a folder, a
/// file that may not be written, a pipe that nobody reads, a socket, a device, /proc.
OutputPlace output_place(const std::filesystem::path& path);

/// What a file is that can be opened; nothing where there is none.
std::optional<FileIdentity> identity_of(const std::filesystem::path& path);

/// Writes all of it to an open file; `path` is for the message. Throws Unusable.
void write_whole(int file, std::string_view bytes, const std::filesystem::path& path);

/// Throws Unusable: "PATH: cannot be written: No space left on device".
[[noreturn]] void cannot_write(const std::filesystem::path& path, int error);

}  // namespace drybus::tools
