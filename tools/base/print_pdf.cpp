#include "tools/base/print_pdf.h"

#include <fcntl.h>
#include <spawn.h>
#include <sys/wait.h>

#include <array>
#include <boost/algorithm/string/predicate.hpp>
#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <system_error>
#include <variant>

#include "model/words/words.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

namespace {

namespace fs = std::filesystem;
using model::tr;

constexpr const char* program = "weasyprint";

/// A folder of our own that goes when this does.
class ScratchFolder {
 public:
  ScratchFolder() {
    std::string pattern = (fs::temp_directory_path() / "drybus-XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr)
      throw Unusable{tr("{}: no folder can be made there to print in", fs::temp_directory_path().string())};
    path_ = pattern;
  }
  ~ScratchFolder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  ScratchFolder(const ScratchFolder&) = delete;
  ScratchFolder& operator=(const ScratchFolder&) = delete;
  [[nodiscard]] std::string file(const char* name) const { return (path_ / name).string(); }

 private:
  fs::path path_;
};

/// Its exit code, or the reason why it could not be started.
std::variant<int, std::error_code> outcome_of(const std::string& from, const std::string& to,
                                              const std::string& said) {
  posix_spawn_file_actions_t files;
  posix_spawn_file_actions_init(&files);
  posix_spawn_file_actions_addopen(&files, 0, "/dev/null", O_RDONLY, 0);
  posix_spawn_file_actions_addopen(&files, 1, said.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
  posix_spawn_file_actions_adddup2(&files, 1, 2);
  std::string name{program}, quiet{"--quiet"}, in{from}, out{to};
  const std::array<char*, 5> words = {name.data(), quiet.data(), in.data(), out.data(), nullptr};
  pid_t child = 0;
  const int failed = posix_spawnp(&child, program, &files, nullptr, words.data(), environ);
  posix_spawn_file_actions_destroy(&files);
  if (failed != 0) return std::error_code{failed, std::generic_category()};
  int status = 0;
  while (waitpid(child, &status, 0) < 0) {
    if (errno != EINTR) return std::error_code{errno, std::generic_category()};
  }
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

std::string content_of(const std::string& path) {
  std::ifstream in{path, std::ios::binary};
  return {std::istreambuf_iterator<char>{in}, {}};
}

}  // namespace

bool names_pdf(std::string_view path) {
  return boost::iends_with(path, ".pdf");
}

std::string pdf_of(std::string_view html) {
  const ScratchFolder folder;
  const std::string page = folder.file("sheet.html"), pdf = folder.file("sheet.pdf"),
                    said = folder.file("said");
  std::ofstream{page, std::ios::binary} << html;
  const auto outcome = outcome_of(page, pdf, said);
  if (const auto* error = std::get_if<std::error_code>(&outcome)) {
    throw Unusable{
        tr("no PDF: {} cannot be started ({}); install it (Debian: weasyprint), or write the sheet as "
           ".html and print that from a browser",
           program, error->message())};
  }
  std::string content = content_of(pdf);
  if (std::get<int>(outcome) != 0 || !content.starts_with("%PDF-")) {
    std::string reason = content_of(said);
    if (const auto last = reason.find_last_not_of(" \n"); last != std::string::npos) reason.resize(last + 1);
    if (const auto line = reason.rfind('\n'); line != std::string::npos) reason.erase(0, line + 1);
    throw Unusable{tr("no PDF: {} failed{}", program, reason.empty() ? "" : ": " + reason)};
  }
  return content;
}

std::size_t pages_of(std::string_view pdf) {
  // PDF 32000-1, 7.7.3: a page is a dictionary of this type; the tree that they hang in is of type Pages.
  constexpr std::string_view page = "/Type /Page";
  std::size_t pages = 0;
  for (std::size_t at = pdf.find(page); at != std::string_view::npos; at = pdf.find(page, at + page.size()))
    if (!pdf.substr(at + page.size()).starts_with('s')) ++pages;
  return pages;
}

}  // namespace drybus::tools
