// How pupils fared, as CSV. Names are left out unless somebody asks for them.
#pragma once

#include <string>
#include <vector>

#include "model/lesson/pupil.h"

namespace drybus::tools {

/// One pupil and one lesson.
struct Result {
  std::uint32_t pupil = 0;  ///< their number in the class
  std::string name;
  std::string lesson;
  std::vector<std::string> questions;
  model::Pupil went;
};

/// One line for each question (RFC 4180), with a heading: pupil, name (where wanted), lesson, number, question, right, tries,
/// hints. What was not answered has an empty `right`. A name that a spreadsheet would take for a formula gets a ' before it.
std::string results_csv(const std::vector<Result>& results, bool with_names);

}  // namespace drybus::tools
