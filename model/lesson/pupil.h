// One pupil on the way through a lesson: a state machine whose only state is a plain value.
#pragma once

#include <cstdint>
#include <vector>

#include "model/lesson/answer.h"

namespace drybus::model {

/// How one question went.
struct LessonMark {
  bool right = false;  ///< in the end
  std::uint32_t tries = 0;
  std::uint32_t hints = 0;
  friend bool operator==(const LessonMark&, const LessonMark&) = default;
};

struct Pupil {
  std::vector<LessonMark> over;  ///< of each question that is over
  LessonMark now;                ///< of the one that is asked
  friend bool operator==(const Pupil&, const Pupil&) = default;

  /// Index of the question that is asked; past the last one when the lesson is over.
  [[nodiscard]] std::size_t question() const { return over.size(); }
};

enum class Verdict : std::uint8_t {
  right,  ///< and on to the next question
  again,  ///< wrong, and there is a try left
  told,   ///< wrong, and that was the last try: the answer is told, and on to the next question
};

/// Takes an answer. REQUIRES: the lesson is not over; `standing` is where the question is asked.
Verdict take_answer(Pupil& pupil, const Lesson& lesson, const Standing& standing, const LessonAnswer& answer);

/// The same for an answer that was judged elsewhere: what somebody did at the bench itself.
Verdict take_verdict(Pupil& pupil, const Lesson& lesson, bool right);

/// Asks for a hint: which one of the question's; nothing when there is none left. REQUIRES: the lesson is not over.
std::optional<std::size_t> take_hint(Pupil& pupil, const Lesson& lesson);

/// Right in the end, of all.
std::size_t count_right(const Pupil& pupil);

}  // namespace drybus::model
