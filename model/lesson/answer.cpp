#include "model/lesson/answer.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

std::vector<std::size_t> right_options(const Lesson& lesson, const LessonQuestion& question,
                                       const Standing& standing) {
  std::vector<std::size_t> right;
  for (std::size_t i = 0; i < question.options.size(); ++i) {
    if (holds(lesson.scenario, standing, question.options[i].right_if)) right.push_back(i);
  }
  return right;
}

std::vector<PlaceId> right_places(const Lesson& lesson, const LessonQuestion& question,
                                  const Standing& standing) {
  std::vector<PlaceId> places;
  for (const DeviceId device : devices_with(lesson.scenario, standing.world, question.quality))
    places.push_back(lesson.scenario.site.place(device));
  std::sort(places.begin(), places.end());
  places.erase(std::unique(places.begin(), places.end()), places.end());
  return places;
}

/// Steps that somebody carries out: what a story looks for and remarks is none of a pupil's business.
std::vector<Step> without_looks(std::span<const Step> steps) {
  std::vector<Step> done;
  std::copy_if(steps.begin(), steps.end(), std::back_inserter(done), [](const Step& step) {
    return step.kind != StepKind::see && step.kind != StepKind::expect && step.kind != StepKind::note;
  });
  return done;
}

std::vector<Step> way_of(const Lesson& lesson, const LessonQuestion& question) {
  if (!question.way.empty()) return question.way;
  return without_looks(rest_of_story(lesson.scenario, question.stop));
}

std::optional<std::string> trouble_with_press(const Lesson& lesson, const LessonQuestion& question,
                                              const Standing& standing) {
  if (holds(lesson.scenario, standing, question.goal))
    return tr("it is so already before anybody has pressed anything");
  const std::vector<Step> way = way_of(lesson, question);
  if (way.empty()) return tr("nobody says how to get there: the story ends here, and there is no 'way'");
  const Tried tried = try_steps(lesson.scenario, question.stop, way);
  if (!holds(lesson.scenario, tried.standing, question.goal)) {
    return question.way.empty() ? tr("what the story does from here on does not lead there")
                                : tr("the way does not lead there");
  }
  if (tried.took > question.within) {
    const std::string took = duration_text(tried.took);
    const std::string within = duration_text(question.within);
    return question.way.empty()
               ? tr("what the story does from here on takes {}, longer than the {} of 'within'", took, within)
               : tr("the way takes {}, longer than the {} of 'within'", took, within);
  }
  return std::nullopt;
}

}  // namespace

std::string_view to_string(QuestionKind kind) {
  switch (kind) {
    case QuestionKind::choice:
      return "choice";
    case QuestionKind::place:
      return "place";
    case QuestionKind::device:
      return "device";
    case QuestionKind::number:
      return "number";
    case QuestionKind::press:
      return "press";
  }
  return "";
}

bool is_right(const Lesson& lesson, const LessonQuestion& question, const Standing& standing,
              const LessonAnswer& answer) {
  const auto among = [](const auto& right, const auto& one) {
    return std::find(right.begin(), right.end(), one) != right.end();
  };
  switch (question.kind) {
    case QuestionKind::choice:
      return among(right_options(lesson, question, standing), answer.option);
    case QuestionKind::place:
      return among(right_places(lesson, question, standing), answer.place);
    case QuestionKind::device:
      return among(devices_with(lesson.scenario, standing.world, question.quality), answer.device);
    case QuestionKind::number: {
      const auto number = measured(lesson.scenario, standing.world, question.measure);
      return number && std::abs(*number - answer.number) <= question.measure.tolerance;
    }
    case QuestionKind::press:
      break;
  }
  const Tried tried = try_steps(lesson.scenario, question.stop, answer.steps);
  return tried.took <= question.within && holds(lesson.scenario, tried.standing, question.goal);
}

std::vector<std::string> right_answers(const Lesson& lesson, const LessonQuestion& question,
                                       const Standing& standing) {
  const Site& site = lesson.scenario.site;
  std::vector<std::string> right;
  switch (question.kind) {
    case QuestionKind::choice:
      for (const std::size_t option : right_options(lesson, question, standing))
        right.push_back(question.options[option].says);
      break;
    case QuestionKind::place:
      for (const PlaceId place : right_places(lesson, question, standing))
        right.push_back(site.places[place].name);
      break;
    case QuestionKind::device:
      for (const DeviceId device : devices_with(lesson.scenario, standing.world, question.quality))
        right.push_back(site.name(device));
      break;
    case QuestionKind::number:
      if (const auto number = measured(lesson.scenario, standing.world, question.measure)) {
        const double shown = std::round(*number * 10) / 10;
        right.push_back(question.measure.tolerance > 0
                            ? tr("{:g}, or at most {:g} off", shown, question.measure.tolerance)
                            : fmt::format("{:g}", shown));
      }
      break;
    case QuestionKind::press:
      for (const Step& step : way_of(lesson, question)) right.push_back(describe(lesson.scenario, step));
      break;
  }
  return right;
}

std::optional<std::string> trouble_with(const Lesson& lesson, const LessonQuestion& question,
                                        const Standing& standing) {
  if (question.kind == QuestionKind::press) return trouble_with_press(lesson, question, standing);
  const std::size_t right = right_answers(lesson, question, standing).size();
  if (right == 0) {
    if (question.kind == QuestionKind::number) return tr("there is no such number at this stop");
    return tr("no answer is right at this stop, so none can be reached");
  }
  std::size_t possible = 0;
  switch (question.kind) {
    case QuestionKind::choice:
      possible = question.options.size();
      break;
    case QuestionKind::place:
      possible = lesson.scenario.site.places.size();
      break;
    case QuestionKind::device:
      possible = lesson.scenario.site.device_count();
      break;
    case QuestionKind::number:
    case QuestionKind::press:
      return std::nullopt;
  }
  if (right == possible) return tr("every answer is right at this stop, so there is nothing to ask");
  return std::nullopt;
}

std::vector<Standing> standings_of(const Lesson& lesson) {
  std::vector<Standing> standings;
  for (std::size_t i = 0; i < lesson.questions.size(); ++i) {
    const LessonStop& stop = lesson.questions[i].stop;
    const bool again = i > 0 && lesson.questions[i - 1].stop == stop;
    standings.push_back(again ? standings.back() : stand_at(lesson.scenario, stop));
  }
  return standings;
}

}  // namespace drybus::model
