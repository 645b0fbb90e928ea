// What a pupil answers, and whether it is right in the world that the class stands before.
#pragma once

#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "model/lesson/standing.h"

namespace drybus::model {

/// One answer; which member counts is told by the question's kind.
struct LessonAnswer {
  std::size_t option = 0;       ///< choice: index of the option
  PlaceId place = no_place;     ///< place
  DeviceId device = no_device;  ///< device
  double number = 0;            ///< number
  std::vector<Step> steps;      ///< press
};

/// Whether it is right there. Of a press: the goal holds after the steps, and they took no longer than allowed.
bool is_right(const Lesson& lesson, const LessonQuestion& question, const Standing& standing,
              const LessonAnswer& answer);

/// Every answer that is right, in the words of an answer; for a press, the steps of one way.
std::vector<std::string> right_answers(const Lesson& lesson, const LessonQuestion& question,
                                       const Standing& standing);

/// Why a question cannot be asked as it stands: no answer is right, every answer is, the way does not lead there, ...
/// Nothing: it can be.
std::optional<std::string> trouble_with(const Lesson& lesson, const LessonQuestion& question,
                                        const Standing& standing);

/// Where each question is asked. Throws UsedUp.
std::vector<Standing> standings_of(const Lesson& lesson);

}  // namespace drybus::model
