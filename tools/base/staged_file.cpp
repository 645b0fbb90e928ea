#include "tools/base/staged_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/random.h>
#include <sys/stat.h>
#include <unistd.h>

#include <array>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <cstdint>
#include <mutex>

#include "tools/base/output_place.h"

namespace drybus::tools {

namespace fs = std::filesystem;

namespace {

/// Names to be removed when a signal ends the program; a handler may read nothing but this.
std::array<std::atomic<const char*>, 16> doomed{};

void remove_and_end(int signal) {
  remove_unfinished();
  std::signal(signal, SIG_DFL);
  std::raise(signal);
}

void catch_ending_signals() {
  static std::once_flag once;
  std::call_once(once, [] {
    for (const int signal : {SIGINT, SIGTERM, SIGHUP}) {
      struct sigaction before {};
      if (::sigaction(signal, nullptr, &before) != 0 || before.sa_handler != SIG_DFL) continue;
      struct sigaction ours {};
      ours.sa_handler = remove_and_end;
      ::sigaction(signal, &ours, nullptr);
    }
  });
}

void doom(const char* name) {
  catch_ending_signals();
  for (auto& each : doomed) {
    const char* none = nullptr;
    if (each.compare_exchange_strong(none, name)) return;
  }
}

void spare(const char* name) {
  for (auto& each : doomed) {
    const char* ours = name;
    if (each.compare_exchange_strong(ours, nullptr)) return;
  }
}

fs::path folder_of(const fs::path& target) {
  return target.has_parent_path() ? target.parent_path() : fs::path{"."};
}

std::string way_to(int file) {
  return fmt::format("/proc/self/fd/{}", file);
}

/// A file that is there keeps its owner, where we may give it, and its permissions.
void keep_permissions(const fs::path& target, int file) {
  struct stat is {};
  if (::stat(target.c_str(), &is) != 0) return;
  if (::fchown(file, is.st_uid, is.st_gid) != 0) errno = 0;
  ::fchmod(file, is.st_mode & 0777);
}

}  // namespace

void remove_unfinished() noexcept {
  for (const auto& each : doomed) {
    if (const char* name = each.load(); name != nullptr) ::unlink(name);
  }
}

StagedFile::StagedFile(fs::path path, fs::path target, std::string_view content)
    : path_(std::move(path)), target_(std::move(target)), content_(content) {}

StagedFile::~StagedFile() {
  if (!named_.empty()) {
    ::unlink(named_.c_str());
    drop_name();
  }
  close();
}

void StagedFile::write() {
  if (!open_nameless()) open_named();
  fill();
}

bool StagedFile::open_nameless() {
  if (::access("/proc/self/fd", X_OK) != 0) return false;  // the way to a name leads through it
  file_ = ::open(folder_of(target_).c_str(), O_TMPFILE | O_WRONLY | O_CLOEXEC, 0666);
  return file_ >= 0;
}

fs::path StagedFile::new_name() const {
  std::uint64_t random = 0;
  if (::getrandom(&random, sizeof random, 0) != sizeof random) cannot_write(path_, errno);
  return folder_of(target_) / fmt::format(".drybus-{:016x}.part", random);
}

void StagedFile::take_name(const fs::path& name) {
  named_ = name;
  doom(named_.c_str());
}

void StagedFile::drop_name() {
  spare(named_.c_str());
  named_.clear();
}

void StagedFile::open_named() {
  do {
    take_name(new_name());
    file_ = ::open(named_.c_str(), O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0666);
    if (file_ >= 0) return;
    const int error = errno;
    drop_name();  // it is none of ours
    errno = error;
  } while (errno == EEXIST);
  cannot_write(path_, errno);
}

void StagedFile::fill() {
  write_whole(file_, content_, path_);
  keep_permissions(target_, file_);
  // Some file systems cannot; what cannot be kept safe is no reason to keep nothing.
  if (::fsync(file_) != 0 && errno != EINVAL && errno != ENOSYS) cannot_write(path_, errno);
}

/// Gives the content a name of its own; false where that cannot be done.
bool StagedFile::link() {
  int error = EEXIST;
  while (error == EEXIST) {
    take_name(new_name());
    if (::linkat(AT_FDCWD, way_to(file_).c_str(), AT_FDCWD, named_.c_str(), AT_SYMLINK_FOLLOW) == 0)
      return true;
    error = errno;
    drop_name();
  }
  return false;
}

void StagedFile::become_real() {
  if (named_.empty() && !link()) {
    close();
    open_named();
    fill();
  }
  if (::rename(named_.c_str(), target_.c_str()) != 0) cannot_write(path_, errno);
  drop_name();
  close();
}

void StagedFile::close() {
  if (file_ >= 0) ::close(file_);
  file_ = -1;
}

}  // namespace drybus::tools
