#include "tools/output.h"

#include <fmt/format.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <memory>

#include "tools/command.h"

namespace drybus::tools {

namespace {

struct CloseFile {
  void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, CloseFile>;

[[noreturn]] void cannot_write(const std::filesystem::path& path, int error) {
  throw Unusable{fmt::format("{}: cannot be written: {}", path.string(), std::strerror(error))};
}

/// Removes the temporary file unless it has become the real one.
class Temporary {
 public:
  explicit Temporary(std::filesystem::path path) : path_(std::move(path)) {}
  Temporary(const Temporary&) = delete;
  Temporary& operator=(const Temporary&) = delete;
  ~Temporary() {
    std::error_code ignored;
    if (!path_.empty()) std::filesystem::remove(path_, ignored);
  }
  void become(const std::filesystem::path& target) {
    std::error_code error;
    std::filesystem::rename(path_, target, error);
    if (error) cannot_write(target, error.value());
    path_.clear();
  }

 private:
  std::filesystem::path path_;
};

void write_all(std::FILE* file, std::string_view content, const std::filesystem::path& path) {
  if (std::fwrite(content.data(), 1, content.size(), file) != content.size() || std::fflush(file) != 0) {
    cannot_write(path, errno);
  }
}

}  // namespace

void write_file(const std::filesystem::path& path, std::string_view content) {
  if (path == "-") return print_out(content);
  std::error_code ignored;
  if (std::filesystem::is_directory(path, ignored)) cannot_write(path, EISDIR);
  if (std::filesystem::exists(path, ignored) && !std::filesystem::is_regular_file(path, ignored)) {
    const File file{std::fopen(path.c_str(), "w")};
    if (!file) cannot_write(path, errno);
    return write_all(file.get(), content, path);
  }
  std::filesystem::path beside = path;
  beside += fmt::format(".{}.part", ::getpid());
  Temporary temporary{beside};
  {
    const File file{std::fopen(beside.c_str(), "wx")};
    if (!file) cannot_write(path, errno);
    write_all(file.get(), content, path);
  }
  temporary.become(path);
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

bool colour_wanted() { return !plain_wanted() && ::isatty(STDOUT_FILENO) != 0; }
bool progress_wanted() { return ::isatty(STDERR_FILENO) != 0; }

std::string inked(std::string_view text, Ink ink) {
  if (ink == Ink::plain || !colour_wanted()) return std::string{text};
  constexpr std::array<std::string_view, 6> codes = {"0", "2", "1", "31", "32", "33"};
  return fmt::format("\x1b[{}m{}\x1b[0m", codes[static_cast<std::size_t>(ink)], text);
}

}  // namespace drybus::tools
