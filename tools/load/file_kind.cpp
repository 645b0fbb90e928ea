#include "tools/load/file_kind.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <filesystem>
#include <fstream>
#include <optional>

#include "model/words/words.h"
#include "tools/base/unusable.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace {

struct Kind {
  FileKind kind;
  std::string_view key;
  std::string_view is;
  std::string_view taken_by;
};

constexpr std::array kinds{
    Kind{FileKind::scenario, "drybus:", msg("a scenario"), msg("'drybus run' shows it")},
    Kind{FileKind::capsule, "{\"drybus-capsule\":", msg("a run packed in a capsule"),
         msg("'drybus run' shows it")},
    Kind{FileKind::report, "drybus-report:", msg("a report of what somebody saw"),
         msg("'drybus diagnose' finds what explains it, 'drybus recover' what puts it right")},
    Kind{FileKind::site, "drybus-site:", msg("a site"), msg("'drybus plan' works on it")},
    Kind{FileKind::family, "drybus-family:", msg("a family of devices"), msg("scenarios name it")},
    Kind{FileKind::lesson, "drybus-lesson:", msg("a lesson"),
         msg("'drybus teach' checks it, 'drybus panel' opens it for a class, 'drybus lesson' makes a page of "
             "it")},
};

/// By the first line that begins with such a key; comments and other keys may come before it.
std::optional<Kind> kind_of(const std::string& path) {
  // A pipe would keep us waiting: the readers refuse what is no file.
  std::error_code error;
  if (!std::filesystem::is_regular_file(path, error)) return std::nullopt;
  std::ifstream in{path, std::ios::binary};
  std::string head(64 * 1024, '\0');
  in.read(head.data(), static_cast<std::streamsize>(head.size()));
  head.resize(static_cast<std::size_t>(in.gcount()));
  for (std::size_t at = 0; at < head.size();) {
    const std::string_view line = std::string_view{head}.substr(at, head.find('\n', at) - at);
    const auto found = std::find_if(kinds.begin(), kinds.end(),
                                    [&](const Kind& kind) { return line.starts_with(kind.key); });
    if (found != kinds.end()) return *found;
    at += line.size() + 1;
  }
  return std::nullopt;
}

}  // namespace

bool is_of_kind(const std::string& path, FileKind kind) {
  const auto found = kind_of(path);
  return found && found->kind == kind;
}

void refuse_other_kinds(const std::string& path, std::initializer_list<FileKind> wanted) {
  const auto kind = kind_of(path);
  if (!kind || std::find(wanted.begin(), wanted.end(), kind->kind) != wanted.end()) return;
  throw Unusable{tr("{}: this is {}; {}", path, in_words_spoken(kind->is), in_words_spoken(kind->taken_by))};
}

}  // namespace drybus::tools
