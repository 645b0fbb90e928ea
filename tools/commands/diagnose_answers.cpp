#include "tools/commands/diagnose_answers.h"

#include <fmt/format.h>

#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/script/files.h"

namespace drybus::tools {

std::optional<std::string> AnswerFile::answer(const std::string& question) {
  std::string line;
  do {
    if (!std::getline(lines_, line)) return std::nullopt;
    ++number_;
  } while (line.empty() || line.starts_with('#'));
  if (!quiet_) print_out(question + "> " + harmless(line) + "\n");
  return line;
}

bool AnswerFile::again(const std::string& complaint) {
  throw Unusable{fmt::format("{}:{}: {}", name_, number_, complaint)};
}

void AnswerFile::tell(const std::string& text) {
  if (!quiet_) print_out(text);
}

AnswerFile read_answer_file(const std::string& path, bool quiet) {
  auto text = DiskFiles{}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text))
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  return {path, std::move(std::get<std::string>(text)), quiet};
}

}  // namespace drybus::tools
