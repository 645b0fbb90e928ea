#include "tools/base/output.h"

#include <fmt/format.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <deque>
#include <memory>
#include <vector>

#include "tools/base/unusable.h"

namespace drybus::tools {

namespace {

struct CloseFile {
  void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, CloseFile>;

[[noreturn]] void cannot_write(const std::filesystem::path& path, int error) {
  throw Unusable{fmt::format("{}: cannot be written: {}", path.string(), std::strerror(error))};
}

void write_all(std::FILE* file, std::string_view content, const std::filesystem::path& path) {
  if (std::fwrite(content.data(), 1, content.size(), file) != content.size() || std::fflush(file) != 0) {
    cannot_write(path, errno);
  }
}

/// A file's content beside where it shall be; removed again unless it has become the real one.
class Staged {
 public:
  explicit Staged(std::filesystem::path target) : target_(std::move(target)) {}
  Staged(const Staged&) = delete;
  Staged& operator=(const Staged&) = delete;
  ~Staged() {
    std::error_code ignored;
    if (!beside_.empty()) std::filesystem::remove(beside_, ignored);
  }

  void write(std::string_view content) {
    std::filesystem::path beside = target_;
    beside += fmt::format(".{}.part", ::getpid());
    const File file{std::fopen(beside.c_str(), "wx")};
    if (!file) cannot_write(target_, errno);
    beside_ = std::move(beside);
    write_all(file.get(), content, target_);
  }

  void become_real() {
    std::error_code error;
    std::filesystem::rename(beside_, target_, error);
    if (error) cannot_write(target_, error.value());
    beside_.clear();
  }

 private:
  std::filesystem::path target_;
  std::filesystem::path beside_;  ///< empty: there is none
};

/// Whether a path is written to as it is: standard output, a pipe, a device.
bool is_written_straight(const std::filesystem::path& path) {
  std::error_code ignored;
  if (path == "-") return true;
  if (std::filesystem::is_directory(path, ignored)) cannot_write(path, EISDIR);
  return std::filesystem::exists(path, ignored) && !std::filesystem::is_regular_file(path, ignored);
}

void write_straight(const OutputFile& output) {
  if (output.path == "-") return print_out(output.content);
  const File file{std::fopen(output.path.c_str(), "w")};
  if (!file) cannot_write(output.path, errno);
  write_all(file.get(), output.content, output.path);
}

}  // namespace

void write_file(const std::filesystem::path& path, std::string_view content) {
  write_files(std::array{OutputFile{path, content}});
}

void write_files(std::span<const OutputFile> files) {
  std::deque<Staged> staged;
  std::vector<const OutputFile*> straight;
  for (const OutputFile& file : files) {
    if (is_written_straight(file.path)) {
      straight.push_back(&file);
    } else {
      staged.emplace_back(file.path).write(file.content);
    }
  }
  for (const OutputFile* file : straight) write_straight(*file);
  for (Staged& file : staged) file.become_real();
}

void print_out(std::string_view text) {
  if (std::fwrite(text.data(), 1, text.size(), stdout) == text.size() && std::fflush(stdout) == 0) return;
  if (errno == EPIPE) std::_Exit(exit_fine);
  throw Unusable{fmt::format("standard output: cannot be written: {}", std::strerror(errno))};
}

void print_err(std::string_view text) {
  std::fwrite(text.data(), 1, text.size(), stderr);
  std::fflush(stderr);
}

namespace {
bool plain_wanted() {
  const char* no_colour = std::getenv("NO_COLOR");
  return no_colour != nullptr && *no_colour != '\0';
}
}  // namespace

bool colour_wanted() {
  return !plain_wanted() && ::isatty(STDOUT_FILENO) != 0;
}
bool progress_wanted() {
  return ::isatty(STDERR_FILENO) != 0;
}

std::string inked(std::string_view text, Ink ink) {
  if (ink == Ink::plain || !colour_wanted()) return std::string{text};
  constexpr std::array<std::string_view, 6> codes = {"0", "2", "1", "31", "32", "33"};
  return fmt::format("\x1b[{}m{}\x1b[0m", codes[static_cast<std::size_t>(ink)], text);
}

}  // namespace drybus::tools
