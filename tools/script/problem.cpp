#include "tools/script/problem.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/words/words.h"
#include "tools/base/utf8.h"

namespace drybus::tools {

using model::tr;

namespace {

/// So much of a long line is shown, in characters.
constexpr std::size_t widest_line = 120;

std::string place(const Problem& problem) {
  if (problem.line == 0) return harmless(problem.file);
  return fmt::format("{}:{}:{}", harmless(problem.file), problem.line, problem.column);
}

/// Blanks as wide as the text before the offence; tabs stay tabs, so that the marks stand under it.
std::string blanks_under(std::string_view before) {
  std::string blanks;
  for (std::size_t i = 0; i < character_count(before); ++i) {
    blanks += characters(before, i, 1) == "\t" ? '\t' : ' ';
  }
  return blanks;
}

std::string shown_line(const Problem& problem) {
  const std::string line = harmless(problem.line_text);
  const std::size_t column = problem.column > 0 ? problem.column - 1 : 0;
  const std::size_t first = column > widest_line * 2 / 3 ? column - widest_line * 2 / 3 : 0;
  const std::string_view shown = characters(line, first, widest_line);
  const std::string_view before = characters(shown, 0, column - first);
  const std::size_t rest = character_count(shown.substr(before.size()));
  const std::size_t marks = std::clamp<std::size_t>(problem.length, 1, std::max<std::size_t>(rest, 1));
  return fmt::format("{:>5} | {}\n      | {}{}\n", problem.line, shown, blanks_under(before),
                     std::string(marks, '^'));
}

std::string advice(const Problem& problem) {
  std::string text;
  if (!problem.expected.empty()) text += tr("   expected {}", harmless(problem.expected));
  if (!problem.suggestion.empty()) text += tr("   did you mean '{}'?", harmless(problem.suggestion));
  return text.empty() ? text : text + "\n";
}

}  // namespace

std::string to_text(const Problem& problem) {
  std::string text = fmt::format("{}: {}\n", place(problem), harmless(problem.message));
  if (problem.line != 0) text += shown_line(problem);
  return text + advice(problem);
}

std::string to_text(const std::vector<Problem>& problems) {
  std::string text;
  for (const Problem& problem : problems) text += to_text(problem);
  return text;
}

}  // namespace drybus::tools
