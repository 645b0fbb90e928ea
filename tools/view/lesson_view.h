// A lesson as its trainer reads it, and what came of a pupil's answers.
#pragma once

#include <boost/json.hpp>
#include <string>

#include "model/lesson/pupil.h"
#include "tools/script/lesson.h"

namespace drybus::tools {

/// At which stop which question is asked, what is right there, and what is uncovered then.
std::string lesson_text(const LoadedLesson& loaded, const std::string& name);
boost::json::object lesson_json(const LoadedLesson& loaded, const std::string& name);

/// The question as a pupil reads it, with options and what may be said.
std::string question_text(const model::Lesson& lesson, std::size_t question);

/// What is told when a question is over: what was right, why, and what is uncovered.
std::string answer_text(const LoadedLesson& loaded, std::size_t question);

/// What is right, in a pupil's words; of a press, one way.
std::string right_text(const LoadedLesson& loaded, std::size_t question);

/// How the world shall be in the end, of a press: "M1.address is 23/4/1, M1.mode is normal".
std::string goal_text(const model::Lesson& lesson, const model::LessonQuestion& question);

/// "M1.mode is setup", for each fact that a question uncovers.
std::vector<std::string> uncovered_by(const LoadedLesson& loaded, std::size_t question);

/// One line a question, and how many were right.
std::string marks_text(const model::Lesson& lesson, const model::Pupil& pupil);
boost::json::object marks_json(const model::Pupil& pupil, std::size_t questions);

/// The same as lines of CSV (RFC 4180), with a heading.
std::string marks_csv(const model::Lesson& lesson, const model::Pupil& pupil);

}  // namespace drybus::tools
