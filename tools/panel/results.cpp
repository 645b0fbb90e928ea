#include "tools/panel/results.h"

#include <fmt/format.h>

namespace drybus::tools {

namespace {

std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char letter : text) {
    if (letter == '"') out += '"';
    out += letter;
  }
  return out + "\"";
}

std::string no_formula(const std::string& text) {
  const bool is_one = !text.empty() && std::string_view{"=+-@\t\r"}.find(text[0]) != std::string_view::npos;
  return is_one ? "'" + text : text;
}

}  // namespace

std::string results_csv(const std::vector<Result>& results, bool with_names) {
  std::string csv =
      fmt::format("pupil,{}lesson,number,question,right,tries,hints\r\n", with_names ? "name," : "");
  for (const Result& result : results) {
    for (std::size_t i = 0; i < result.questions.size(); ++i) {
      const bool over = i < result.went.over.size();
      const bool asked = i == result.went.over.size();
      const model::LessonMark mark = over    ? result.went.over[i]
                                     : asked ? result.went.now
                                             : model::LessonMark{};
      csv += fmt::format("{},{}{},{},{},{},{},{}\r\n", result.pupil,
                         with_names ? quoted(no_formula(result.name)) + "," : "", quoted(result.lesson),
                         i + 1, quoted(result.questions[i]),
                         !over        ? ""
                         : mark.right ? "yes"
                                      : "no",
                         mark.tries, mark.hints);
    }
  }
  return csv;
}

}  // namespace drybus::tools
