// Reads lessons ("drybus-lesson: 1"), and what a pupil answers.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "model/lesson/answer.h"
#include "tools/script/quantity.h"
#include "tools/script/reader.h"

namespace drybus::tools {

inline constexpr std::size_t max_questions = 100;
inline constexpr std::size_t max_options = 9;
inline constexpr std::size_t max_hints = 9;
/// An answer is no longer than this, in bytes, and has no more steps than that.
inline constexpr std::size_t max_answer_bytes = 4'000;
inline constexpr std::size_t max_answer_steps = 200;

struct LoadedLesson {
  model::Lesson lesson;
  LoadedScenario story;                    ///< the scenario that the lesson tells, or names
  std::filesystem::path story_file;        ///< where that lies; the lesson's own file where it carries one
  std::vector<model::Standing> standings;  ///< of each question
};

/// Either a lesson of which every answer can be reached, or everything that is wrong with it: the story is played up to each
/// question, and what counts as right is held against what is so there.
Reading<LoadedLesson> read_lesson(const std::filesystem::path& path, const ReadOptions& options = {});

/// What a pupil says to a question: an option's number or words, the name of a place or a device (or its label), a number with
/// or without its unit, or steps such as "hold P1 set for 2.7s; press P1 up".
Quantity<model::LessonAnswer> parse_answer(const model::Lesson& lesson, const model::LessonQuestion& question,
                                           const std::string& written);

/// "press P1 up", "hold M1 local for 4s", "walk attic", "wait 20s", one after another with ';' between them; who presses
/// somewhere else walks there first. What a script can do and a person on site cannot is no step.
Quantity<std::vector<model::Step>> parse_hands(const model::Scenario& scenario, const std::string& written);

}  // namespace drybus::tools
