#include "tools/panel/call/page_files.h"

#include <algorithm>
#include <array>

#include "tools/words/languages.h"

namespace drybus::tools {

namespace {

/// Of the bench's page.
constexpr std::array<std::string_view, 8> shared = {"/element.js",     "/connection.js", "/announcer.js",
                                                    "/dialog.js",      "/names.js",      "/words.js",
                                                    "/plural_rule.js", "/icon.svg"};

}  // namespace

const PageFile* call_page_file_at(std::string_view path) {
  if (std::find(shared.begin(), shared.end(), path) != shared.end()) return page_file_at(path);
  // As it is written; a reception gives its page the words that it speaks.
  static const PageFile as_written{"words.json", words_for_page("en")};
  if (path == "/words.json") return &as_written;
  if (!path.starts_with('/')) return nullptr;
  const std::string_view name = path == "/" ? "call.html" : path.substr(1);
  const auto files = call_page_files();
  const auto found =
      std::find_if(files.begin(), files.end(), [&](const PageFile& file) { return file.name == name; });
  return found == files.end() ? nullptr : &*found;
}

}  // namespace drybus::tools
