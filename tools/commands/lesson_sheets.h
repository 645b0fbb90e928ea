// The sheets of a lesson, set so that each takes one page.
#pragma once

#include <string>

#include "model/run/run.h"
#include "tools/script/lesson.h"

namespace drybus::tools {

struct SheetRequest {
  std::string path;      ///< PDF where it ends so, else HTML
  bool answers = false;  ///< else a pupil's
  bool letter = false;   ///< US letter in place of A4
};

/// What goes into that file. A PDF is set in smaller letters until it fits one page; where no size does, in the smallest, and
/// standard error is told. Throws Unusable where no PDF can be made.
std::string lesson_sheet(const LoadedLesson& loaded, const model::RunResult& result,
                         const SheetRequest& request);

}  // namespace drybus::tools
