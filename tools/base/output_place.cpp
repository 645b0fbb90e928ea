#include "tools/base/output_place.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <linux/magic.h>
#include <sys/stat.h>
#include <sys/statfs.h>
#include <sys/sysmacros.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <map>
#include <mutex>

#include "model/words/words.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace fs = std::filesystem;
using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

constexpr int most_links = 40;  // as many as the kernel follows

[[noreturn]] void refuse(const fs::path& path, std::string_view why) {
  throw Unusable{tr("{}: cannot be written: it is {}", path.string(), in_words_spoken(why))};
}

fs::path folder_of(const fs::path& path) {
  return path.has_parent_path() ? path.parent_path() : fs::path{"."};
}

/// The number of a descriptor of this process that a path such as /dev/fd/63 names; -1 for any other path.
int named_descriptor(const fs::path& path) {
  const std::string name = path.filename().string();
  if (name.empty() || name.size() > 6 || name.find_first_not_of("0123456789") != std::string::npos) return -1;
  std::error_code error;
  const fs::path folder = fs::canonical(folder_of(path), error);
  return !error && folder == fmt::format("/proc/{}/fd", ::getpid()) ? std::stoi(name) : -1;
}

/// Of what is open as `descriptor`, or, with AT_FDCWD, stands at `path`. REQUIRES: it is there.
FileIdentity identity(int descriptor, const char* path, const struct stat& is) {
  struct statx more {};
  const int flags = descriptor == AT_FDCWD ? 0 : AT_EMPTY_PATH;
  const bool born =
      ::statx(descriptor, path, flags, STATX_BTIME, &more) == 0 && (more.stx_mask & STATX_BTIME) != 0;
  return {is.st_dev, is.st_ino, born ? more.stx_btime.tv_sec * 1'000'000'000 + more.stx_btime.tv_nsec : 0,
          ""};
}

OutputPlace descriptor_place(const fs::path& path, int descriptor) {
  const int flags = ::fcntl(descriptor, F_GETFL);
  if (flags < 0) cannot_write(path, errno);
  if ((flags & O_ACCMODE) == O_RDONLY) refuse(path, msg("open for reading only"));
  OutputPlace place{OutputPlace::Kind::descriptor, path, descriptor, {}};
  struct stat is {};
  const bool file = ::fstat(descriptor, &is) == 0 && S_ISREG(is.st_mode);
  place.identity =
      file ? identity(descriptor, "", is) : FileIdentity{0, static_cast<ino_t>(descriptor), 0, "descriptor"};
  return place;
}

/// Follows links to what they stand for, which need not be there.
fs::path followed(const fs::path& path) {
  fs::path at = path;
  for (int links = 0; links < most_links; ++links) {
    std::error_code error;
    if (named_descriptor(at) >= 0) return at;
    const fs::path next = fs::read_symlink(at, error);
    if (error) return at;
    at = folder_of(at) / next;
  }
  cannot_write(path, ELOOP);
}

/// Files of the kernel's own look like others and are none.
void refuse_kernel_files(const fs::path& path, const fs::path& there) {
  struct statfs system {};
  if (::statfs(there.c_str(), &system) != 0) return;
  const auto type = static_cast<unsigned long>(system.f_type);
  if (type == PROC_SUPER_MAGIC || type == SYSFS_MAGIC) refuse(path, msg("no place for files"));
}

bool is_null_device(const struct stat& is) {
  return is.st_rdev == makedev(1, 3);
}

bool is_harmless_device(const struct stat& is) {
  constexpr unsigned tty = 4, own_tty = 5, first_pty = 136, last_pty = 143;
  const unsigned kind = major(is.st_rdev);
  return is_null_device(is) || is.st_rdev == makedev(1, 7) || kind == tty || kind == own_tty ||
         (kind >= first_pty && kind <= last_pty);
}

/// A pipe is opened once and kept open: its reader takes the end of one writer for the end of everything. Opening one
/// that nobody reads would wait for ever.
int opened_pipe(const fs::path& path, const fs::path& target, const FileIdentity& identity) {
  static std::mutex mutex;
  static std::map<FileIdentity, int> opened;
  const std::lock_guard lock{mutex};
  if (const auto known = opened.find(identity); known != opened.end()) return known->second;
  const int file = ::open(target.c_str(), O_WRONLY | O_NONBLOCK | O_CLOEXEC);
  if (file < 0 && errno == ENXIO) refuse(path, msg("a pipe that nobody reads"));
  if (file < 0 || ::fcntl(file, F_SETFL, O_WRONLY) != 0) cannot_write(path, errno);
  opened.emplace(identity, file);
  return file;
}

OutputPlace new_file(const fs::path& path, const fs::path& target) {
  struct stat folder {};
  if (::stat(folder_of(target).c_str(), &folder) != 0) cannot_write(path, errno);
  if (!S_ISDIR(folder.st_mode)) cannot_write(path, ENOTDIR);
  if (!target.has_filename()) cannot_write(path, EISDIR);
  refuse_kernel_files(path, folder_of(target));
  if (::access(folder_of(target).c_str(), W_OK) != 0) cannot_write(path, errno);
  return {OutputPlace::Kind::file, target, -1,
          FileIdentity{folder.st_dev, folder.st_ino, 0, target.filename().string()}};
}

OutputPlace existing(const fs::path& path, const fs::path& target, const struct stat& is) {
  const FileIdentity what = identity(AT_FDCWD, target.c_str(), is);
  switch (is.st_mode & S_IFMT) {
    case S_IFREG:
      refuse_kernel_files(path, target);
      if (::access(target.c_str(), W_OK) != 0) cannot_write(path, errno);
      return {OutputPlace::Kind::file, target, -1, what};
    case S_IFIFO:
      return {OutputPlace::Kind::descriptor, target, opened_pipe(path, target, what), what};
    case S_IFCHR:
      if (!is_harmless_device(is)) refuse(path, msg("a device"));
      return {OutputPlace::Kind::straight, target, -1,
              is_null_device(is) ? std::optional<FileIdentity>{} : what};
    case S_IFDIR:
      cannot_write(path, EISDIR);
    case S_IFSOCK:
      refuse(path, msg("a socket"));
    default:
      refuse(path, msg("a device"));
  }
}

}  // namespace

OutputPlace output_place(const fs::path& path) {
  if (path == "-") return descriptor_place(path, STDOUT_FILENO);
  const fs::path target = followed(path);
  if (const int descriptor = named_descriptor(target); descriptor >= 0)
    return descriptor_place(path, descriptor);
  struct stat is {};
  if (::stat(target.c_str(), &is) == 0) return existing(path, target, is);
  if (errno != ENOENT) cannot_write(path, errno);
  return new_file(path, target);
}

std::optional<FileIdentity> identity_of(const fs::path& path) {
  struct stat is {};
  if (::stat(path.c_str(), &is) != 0) return std::nullopt;
  return identity(AT_FDCWD, path.c_str(), is);
}

void write_whole(int file, std::string_view bytes, const fs::path& path) {
  for (std::size_t done = 0; done < bytes.size();) {
    const ssize_t written = ::write(file, bytes.data() + done, bytes.size() - done);
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) cannot_write(path, errno);
    done += static_cast<std::size_t>(written);
  }
}

void cannot_write(const fs::path& path, int error) {
  throw Unusable{tr("{}: cannot be written: {}", path.string(), std::strerror(error))};
}

}  // namespace drybus::tools
