#include "tools/view/lesson_view.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

namespace json = boost::json;
using model::LessonQuestion;
using model::LessonStop;
using model::plural;
using model::QuestionKind;
using model::tr;

namespace {

std::string stop_words(const model::Lesson& lesson, const LessonStop& stop) {
  switch (stop.kind) {
    case LessonStop::Kind::start:
      return tr("before anything is done");
    case LessonStop::Kind::note:
      return tr("at the note \"{}\"", std::string{lesson.scenario.people[0].script[stop.step].text.str()});
    case LessonStop::Kind::time:
      return tr("at that time");
    case LessonStop::Kind::end:
      return tr("when the script is over");
  }
  return "";
}

std::string heading(const LoadedLesson& loaded, std::size_t question) {
  return fmt::format("{}, {}", model::clock_text(loaded.standings[question].world.now),
                     stop_words(loaded.lesson, loaded.lesson.questions[question].stop));
}

std::string joined(const std::vector<std::string>& words, std::string_view between) {
  return fmt::format("{}", fmt::join(words, between));
}

std::string between_answers(QuestionKind kind) {
  return kind == QuestionKind::press ? "; " : tr(" or ");
}

/// What a pupil may say, for one line of help.
std::string may_say(QuestionKind kind) {
  switch (kind) {
    case QuestionKind::choice:
      return tr("the number of one of these");
    case QuestionKind::place:
      return tr("a room");
    case QuestionKind::device:
      return tr("a device, by its name or its label");
    case QuestionKind::number:
      return tr("a number");
    case QuestionKind::press:
      return tr("steps, such as: hold P1 set for 2.7s; press P1 up; walk attic; wait 5s");
  }
  return "";
}

std::string quoted_csv(std::string_view text) {
  std::string quoted = "\"";
  for (const char c : text) {
    if (c == '"') quoted += '"';
    quoted += c;
  }
  return quoted + "\"";
}

}  // namespace

std::string right_text(const LoadedLesson& loaded, std::size_t question) {
  const LessonQuestion& asked = loaded.lesson.questions[question];
  return joined(right_answers(loaded.lesson, asked, loaded.standings[question]), between_answers(asked.kind));
}

std::string goal_text(const model::Lesson& lesson, const LessonQuestion& question) {
  std::vector<std::string> all;
  for (const model::Check& check : question.goal) all.push_back(describe(lesson.scenario, check));
  return joined(all, ", ");
}

std::vector<std::string> uncovered_by(const LoadedLesson& loaded, std::size_t question) {
  std::vector<std::string> facts;
  const model::Scenario& scenario = loaded.lesson.scenario;
  for (const auto& [device, fact] : loaded.lesson.questions[question].uncovers) {
    facts.push_back(tr("{}.{} is {}", scenario.site.name(device), to_string(fact),
                       fact_text(scenario, loaded.standings[question].world, device, fact)));
  }
  return facts;
}

std::string question_text(const model::Lesson& lesson, std::size_t question) {
  const LessonQuestion& asked = lesson.questions[question];
  std::string text = paragraph(asked.ask, told_width, fmt::format("{:>2}. ", question + 1), "    ");
  for (std::size_t i = 0; i < asked.options.size(); ++i)
    text += paragraph(asked.options[i].says, told_width, fmt::format("    {}) ", i + 1), "       ");
  if (asked.kind == QuestionKind::press)
    text += paragraph(tr("so that in the end: {} (within {})", goal_text(lesson, asked),
                         model::duration_text(asked.within)),
                      told_width, "    ", "    ");
  return text + fmt::format("    {}\n", tr("({}, or hint)", may_say(asked.kind)));
}

std::string answer_text(const LoadedLesson& loaded, std::size_t question) {
  const LessonQuestion& asked = loaded.lesson.questions[question];
  std::string text =
      paragraph(asked.kind == QuestionKind::press ? tr("one way: {}", right_text(loaded, question))
                                                  : tr("right: {}", right_text(loaded, question)),
                told_width, "    ", "      ");
  const auto uncovered = uncovered_by(loaded, question);
  if (!uncovered.empty())
    text += paragraph(tr("uncovered now: {}", joined(uncovered, "; ")), told_width, "    ", "      ");
  if (!asked.because.empty()) text += paragraph(asked.because, told_width, "    ", "    ");
  return text;
}

std::string lesson_text(const LoadedLesson& loaded, const std::string& name) {
  const model::Lesson& lesson = loaded.lesson;
  std::string text = fmt::format("{}\n{}", lesson.title, paragraph(lesson.about, told_width, "", ""));
  if (loaded.story_file != name) text += tr("the story: {}", loaded.story_file.string()) + "\n";
  std::size_t stops = 0;
  for (std::size_t i = 0; i < lesson.questions.size(); ++i) {
    const LessonQuestion& question = lesson.questions[i];
    if (i == 0 || !(lesson.questions[i - 1].stop == question.stop)) {
      text += "\n" + paragraph(tr("Stop {}, {}", ++stops, heading(loaded, i)), told_width, "", "  ");
    }
    text += question_text(lesson, i) + answer_text(loaded, i);
    for (const std::string& hint : question.hints)
      text += paragraph(tr("hint: {}", hint), told_width, "    ", "      ");
  }
  const std::size_t questions = lesson.questions.size();
  const std::string at_stops = plural("at {} stop", "at {} stops", stops, stops);
  return text + "\n" +
         plural("{} question {}, {} tries each; every answer can be reached",
                "{} questions {}, {} tries each; every answer can be reached", questions, questions, at_stops,
                lesson.tries) +
         "\n";
}

json::object lesson_json(const LoadedLesson& loaded, const std::string& name) {
  const model::Lesson& lesson = loaded.lesson;
  json::array questions;
  for (std::size_t i = 0; i < lesson.questions.size(); ++i) {
    const LessonQuestion& question = lesson.questions[i];
    const auto texts = [](const std::vector<std::string>& all) {
      json::array array;
      for (const std::string& each : all) array.emplace_back(each);
      return array;
    };
    questions.push_back({{"at_s", sim::seconds(loaded.standings[i].world.now - sim::start_of_run)},
                         {"stop", stop_words(lesson, question.stop)},
                         {"kind", to_string(question.kind)},
                         {"ask", question.ask},
                         {"right", texts(right_answers(lesson, question, loaded.standings[i]))},
                         {"hints", texts(question.hints)},
                         {"uncovers", texts(uncovered_by(loaded, i))},
                         {"because", question.because}});
  }
  return {{"lesson", name},        {"title", lesson.title},
          {"about", lesson.about}, {"story", loaded.story_file.string()},
          {"tries", lesson.tries}, {"questions", std::move(questions)}};
}

std::string marks_text(const model::Lesson& lesson, const model::Pupil& pupil) {
  std::string text;
  for (std::size_t i = 0; i < pupil.over.size(); ++i) {
    const model::LessonMark& mark = pupil.over[i];
    std::string how =
        mark.right ? (mark.tries == 1 ? tr("at once") : tr("at try {}", mark.tries)) : tr("not found");
    if (mark.hints > 0) how += ", " + plural("{} hint", "{} hints", mark.hints, mark.hints);
    text += fmt::format("{:>2}. {}\n", i + 1, how);
  }
  text += tr("{} of {} right", count_right(pupil), lesson.questions.size());
  const std::size_t left = lesson.questions.size() - pupil.over.size();
  if (left > 0) text += "; " + plural("{} not answered", "{} not answered", left, left);
  return text + "\n";
}

json::object marks_json(const model::Pupil& pupil, std::size_t questions) {
  json::array marks;
  for (const model::LessonMark& mark : pupil.over)
    marks.push_back({{"right", mark.right}, {"tries", mark.tries}, {"hints", mark.hints}});
  return {{"marks", std::move(marks)}, {"right", count_right(pupil)}, {"questions", questions}};
}

std::string marks_csv(const model::Lesson& lesson, const model::Pupil& pupil) {
  std::string csv = "number,question,right,tries,hints\r\n";
  for (std::size_t i = 0; i < lesson.questions.size(); ++i) {
    const bool over = i < pupil.over.size();
    const model::LessonMark mark = over ? pupil.over[i] : model::LessonMark{};
    csv += fmt::format("{},{},{},{},{}\r\n", i + 1, quoted_csv(lesson.questions[i].ask),
                       !over        ? ""
                       : mark.right ? "yes"
                                    : "no",
                       mark.tries, mark.hints);
  }
  return csv;
}

}  // namespace drybus::tools
