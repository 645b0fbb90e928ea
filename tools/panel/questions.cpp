#include "tools/panel/questions.h"

#include <fmt/format.h>

#include <stdexcept>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/view/lesson_view.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {

std::string_view to_string(model::Verdict verdict) {
  switch (verdict) {
    case model::Verdict::right:
      return "right";
    case model::Verdict::again:
      return "again";
    case model::Verdict::told:
      return "told";
  }
  return "";
}

/// What can be chosen, so that nobody has to spell it.
json::array names_for(const model::Lesson& lesson, const model::LessonQuestion& question) {
  const model::Site& site = lesson.scenario.site;
  json::array names;
  if (question.kind == model::QuestionKind::place) {
    for (const model::Place& place : site.places)
      names.push_back({{"value", place.name}, {"shown", place.name}});
  }
  if (question.kind == model::QuestionKind::device) {
    for (model::DeviceId device = 0; device < site.device_count(); ++device) {
      const std::string& name = site.name(device);
      const std::string& title = site.title(device);
      names.push_back(
          {{"value", name}, {"shown", title == name ? name : fmt::format("{} ({})", title, name)}});
    }
  }
  return names;
}

}  // namespace

std::optional<sim::Instant> Questions::stop() const {
  if (over()) return std::nullopt;
  return loaded_->standings[pupil_.question()].world.now;
}

json::object Questions::question_json() const {
  const model::Lesson& lesson = loaded_->lesson;
  const std::size_t number = pupil_.question();
  json::object told{{"title", lesson.title}, {"about", lesson.about}, {"of", lesson.questions.size()}};
  if (number == lesson.questions.size()) {
    told["over"] = true;
    told["right"] = count_right(pupil_);
    return told;
  }
  const model::LessonQuestion& question = lesson.questions[number];
  std::vector<std::string> options;
  for (const model::LessonOption& option : question.options) options.push_back(option.says);
  std::vector<std::string> goal;
  for (const model::Check& check : question.goal) goal.push_back(describe(lesson.scenario, check));
  told["number"] = number + 1;
  told["kind"] = to_string(question.kind);
  told["ask"] = question.ask;
  told["at_s"] = sim::seconds(loaded_->standings[number].world.now - sim::start_of_run);
  told["options"] = texts(options);
  told["names"] = names_for(lesson, question);
  told["goal"] = texts(goal);
  told["within_s"] = sim::seconds(question.within);
  told["hints_left"] = question.hints.size() - pupil_.now.hints;
  told["tries_left"] = lesson.tries - pupil_.now.tries;
  return told;
}

json::object Questions::verdict_json(std::size_t number, model::Verdict verdict) const {
  json::object told{{"verdict", to_string(verdict)}};
  if (verdict != model::Verdict::again) {
    const model::LessonQuestion& question = loaded_->lesson.questions[number];
    told["right"] = texts(right_answers(loaded_->lesson, question, loaded_->standings[number]));
    told["uncovered"] = texts(uncovered_by(*loaded_, number));
    told["because"] = question.because;
  }
  return told;
}

json::object Questions::answer_in_words(const std::string& text) {
  const std::size_t number = pupil_.question();
  const auto answer = parse_answer(loaded_->lesson, loaded_->lesson.questions[number], text);
  if (!answer) {
    const QuantityError& error = answer.error();
    return {{"complaint", error.expected.empty()
                              ? error.message
                              : model::tr("{}; expected {}", error.message, error.expected)}};
  }
  return verdict_json(number, take_answer(pupil_, loaded_->lesson, loaded_->standings[number], *answer));
}

json::object Questions::judge(const Bench& bench) {
  const std::size_t number = pupil_.question();
  const model::LessonQuestion& question = loaded_->lesson.questions[number];
  if (question.kind != model::QuestionKind::press)
    return {{"complaint", model::tr("this question is answered in words")}};
  const Branch& run = bench.run();
  model::Standing standing{run.world(), {}};
  for (const model::Observation& each : run.observations()) standing.found.push_back(each.id);
  const sim::Duration took = run.now() - loaded_->standings[number].world.now;
  const bool right = took <= question.within && holds(loaded_->lesson.scenario, standing, question.goal);
  return verdict_json(number, take_verdict(pupil_, loaded_->lesson, right));
}

json::object Questions::hint() {
  const std::size_t number = pupil_.question();
  const auto hint = take_hint(pupil_, loaded_->lesson);
  return {
      {"hint", hint ? json::value(loaded_->lesson.questions[number].hints[*hint]) : json::value(nullptr)}};
}

json::object Questions::tell(std::string_view ask, const std::string& text, const Bench& bench) {
  json::object told;
  try {
    if (ask == "answer" && !over()) {
      told = answer_in_words(text);
    } else if (ask == "judge" && !over()) {
      told = judge(bench);
    } else if (ask == "hint" && !over()) {
      told = hint();
    } else if (ask != "question") {
      told["complaint"] =
          over() ? model::tr("the lesson is over") : model::tr("nothing like that can be asked");
    }
  } catch (const model::UsedUp& used_up) {
    told["complaint"] = used_up.what();
  }
  told["question"] = question_json();
  return told;
}

// --- kept ---

namespace {

json::object mark_json(const model::LessonMark& mark) {
  return {{"right", mark.right}, {"tries", mark.tries}, {"hints", mark.hints}};
}

model::LessonMark mark_from(const json::value& value) {
  const json::object& object = value.as_object();
  return {object.at("right").as_bool(), object.at("tries").to_number<std::uint32_t>(),
          object.at("hints").to_number<std::uint32_t>()};
}

}  // namespace

json::object pupil_json(const model::Pupil& pupil) {
  json::array over;
  for (const model::LessonMark& mark : pupil.over) over.push_back(mark_json(mark));
  return {{"over", std::move(over)}, {"now", mark_json(pupil.now)}};
}

model::Pupil pupil_from(const json::value& value, std::size_t questions) {
  model::Pupil pupil;
  for (const json::value& mark : value.at("over").as_array()) pupil.over.push_back(mark_from(mark));
  pupil.now = mark_from(value.at("now"));
  if (pupil.over.size() > questions) throw std::invalid_argument{"more answers than questions"};
  return pupil;
}

}  // namespace drybus::tools
