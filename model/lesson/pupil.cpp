#include "model/lesson/pupil.h"

#include <algorithm>

namespace drybus::model {

Verdict take_answer(Pupil& pupil, const Lesson& lesson, const Standing& standing,
                    const LessonAnswer& answer) {
  return take_verdict(pupil, lesson, is_right(lesson, lesson.questions[pupil.question()], standing, answer));
}

Verdict take_verdict(Pupil& pupil, const Lesson& lesson, bool right) {
  ++pupil.now.tries;
  pupil.now.right = right;
  if (!right && pupil.now.tries < lesson.tries) return Verdict::again;
  pupil.over.push_back(pupil.now);
  pupil.now = {};
  return right ? Verdict::right : Verdict::told;
}

std::optional<std::size_t> take_hint(Pupil& pupil, const Lesson& lesson) {
  if (pupil.now.hints >= lesson.questions[pupil.question()].hints.size()) return std::nullopt;
  return pupil.now.hints++;
}

std::size_t count_right(const Pupil& pupil) {
  return static_cast<std::size_t>(
      std::count_if(pupil.over.begin(), pupil.over.end(), [](const LessonMark& mark) { return mark.right; }));
}

}  // namespace drybus::model
