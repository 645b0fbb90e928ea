// A lesson on paper: a sheet that a pupil fills in, and one with the answers.
#pragma once

#include <string>

#include "model/run/run.h"
#include "tools/view/lesson_view.h"

namespace drybus::tools {

struct LessonSheet {
  bool answers = false;  ///< otherwise a pupil's: a neutral title, blanks, nothing that tells
  bool letter = false;   ///< US letter in place of A4
  double points = 9;     ///< of its letters
  std::string picture;   ///< SVG; a pupil's without what nobody on site can see
};

/// One page of HTML that needs nothing else. `result` is the lesson's whole story, for its digest and cautions.
std::string lesson_sheet_html(const LoadedLesson& loaded, const model::RunResult& result,
                              const LessonSheet& sheet);

/// Stops by their questions: "1" or "2-5", in order; of each the first question.
struct SheetStop {
  std::size_t first = 0;
  std::size_t last = 0;
  [[nodiscard]] std::string name() const;
};
std::vector<SheetStop> sheet_stops(const model::Lesson& lesson);

}  // namespace drybus::tools
