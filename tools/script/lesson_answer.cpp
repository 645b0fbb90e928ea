// What a pupil says, as an answer.

#include <algorithm>
#include <deque>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/trimmed.h"
#include "tools/base/utf8.h"
#include "tools/script/files.h"
#include "tools/script/lesson.h"
#include "tools/script/loader.h"
#include "tools/script/site_index.h"
#include "tools/script/step_reader.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::LessonAnswer;
using model::QuestionKind;

namespace {

bool alike(std::string_view a, std::string_view b) {
  return edit_distance(a, b, 0) == 0;  // upper and lower case alike
}

Quantity<LessonAnswer> parse_option(const model::LessonQuestion& question, const std::string& written) {
  std::vector<std::string> right;
  LessonAnswer answer;
  for (std::size_t i = 0; i < question.options.size(); ++i) {
    answer.option = i;
    if (written == std::to_string(i + 1) || alike(written, question.options[i].says)) return answer;
    right.push_back(std::to_string(i + 1));
  }
  return QuantityError{model::tr("'{}' is none of the options", written), one_of(right), ""};
}

Quantity<LessonAnswer> parse_place(const model::Site& site, const std::string& written) {
  std::vector<std::string> right;
  LessonAnswer answer;
  for (model::PlaceId place = 0; place < site.places.size(); ++place) {
    answer.place = place;
    if (alike(written, site.places[place].name)) return answer;
    right.push_back(site.places[place].name);
  }
  return QuantityError{model::tr("unknown place '{}'", written), one_of(right), nearest(written, right)};
}

Quantity<LessonAnswer> parse_device(const model::Site& site, const std::string& written) {
  std::vector<std::string> right;
  LessonAnswer answer;
  std::size_t found = 0;
  for (model::DeviceId device = 0; device < site.device_count(); ++device) {
    const std::string& name = site.name(device);
    right.push_back(name);
    if (site.title(device) != name) right.push_back(site.title(device));
    if (alike(written, name)) return answer.device = device, answer;
    if (alike(written, site.title(device))) answer.device = device, ++found;
  }
  if (found == 1) return answer;
  if (found > 1)
    return QuantityError{model::tr("more than one device is called '{}'", written), model::tr("its name"),
                         ""};
  return QuantityError{model::tr("unknown device '{}'", written), one_of(right), nearest(written, right)};
}

Quantity<LessonAnswer> parse_number(const model::Measure& measure, const std::string& written) {
  LessonAnswer answer;
  if (measure.kind == model::Measure::Kind::time_left) {
    if (const auto time = parse_duration(written)) return answer.number = sim::seconds(*time), answer;
  }
  // A percentage may be told without its sign.
  const auto number = parse_with_unit(written.ends_with('%') ? written : written + "%", "%");
  if (number) return answer.number = *number, answer;
  return QuantityError{model::tr("'{}' is no number", written),
                       measure.kind == model::Measure::Kind::time_left ? model::tr("a time, such as 40s")
                                                                       : model::tr("a number, such as 3"),
                       ""};
}

}  // namespace

Quantity<std::vector<model::Step>> parse_hands(const model::Scenario& scenario, const std::string& written) {
  static constexpr std::array<std::string_view, 4> verbs = {"press", "hold", "walk", "wait"};
  if (written.size() > max_answer_bytes)
    return QuantityError{model::tr("more than {} characters", max_answer_bytes), "", ""};
  if (first_bad_character(written)) return QuantityError{model::tr("this is no plain text"), "", ""};
  const DiskFiles files;
  Complaints complaints;
  complaints.add_source({"answer", written});
  Loader loader{files, complaints};
  const SiteIndex index{scenario.site, complaints, true};
  model::Scenario scratch;
  scratch.times = scenario.times;
  std::deque<Node> nodes;
  const auto word = [&](std::string_view text) {
    Node& node = nodes.emplace_back();
    node.kind = Node::Kind::word;
    node.text = trimmed(text);
    node.place = {{0, 1, 1}, 1};
    return &node;
  };
  Node list;
  list.kind = Node::Kind::list;
  list.place = {{0, 1, 1}, 1};
  for (std::string_view rest = written; !rest.empty();) {
    const std::string_view piece = trimmed(rest.substr(0, rest.find(';')));
    rest = rest.find(';') == std::string_view::npos ? std::string_view{} : rest.substr(rest.find(';') + 1);
    if (piece.empty()) continue;
    const std::string_view verb = piece.substr(0, piece.find(' '));
    if (std::find(verbs.begin(), verbs.end(), verb) == verbs.end())
      return QuantityError{model::tr("unknown step '{}'", verb), one_of(verbs), nearest(verb, verbs)};
    std::string_view what = piece.substr(verb.size());
    Node& step = nodes.emplace_back();
    step.kind = Node::Kind::map;
    step.place = {{0, 1, 1}, 1};
    const std::size_t takes = what.rfind(" for ");
    if (takes != std::string_view::npos && (verb == "press" || verb == "hold")) {
      step.entries.push_back({word("for"), word(what.substr(takes + 5))});
      what = what.substr(0, takes);
    }
    step.entries.push_back({word(verb), word(what)});
    list.items.push_back(&step);
    if (list.items.size() > max_answer_steps)
      return QuantityError{model::tr("more than {} steps", max_answer_steps), "", ""};
  }
  if (list.items.empty())
    return QuantityError{model::tr("no step at all"), model::tr("steps such as press P1 up; wait 2s"), ""};
  model::Person person;
  StepReader reader{index, &scenario.site.family, loader, complaints, scratch};
  reader.read(list, person);
  if (!complaints.any()) return std::move(person.script);
  const Problem problem = complaints.sorted().front();
  return QuantityError{problem.message, problem.expected, problem.suggestion};
}

Quantity<LessonAnswer> parse_answer(const model::Lesson& lesson, const model::LessonQuestion& question,
                                    const std::string& written) {
  if (written.size() > max_answer_bytes)
    return QuantityError{model::tr("more than {} characters", max_answer_bytes), "", ""};
  const std::string text{trimmed(written)};
  switch (question.kind) {
    case QuestionKind::choice:
      return parse_option(question, text);
    case QuestionKind::place:
      return parse_place(lesson.scenario.site, text);
    case QuestionKind::device:
      return parse_device(lesson.scenario.site, text);
    case QuestionKind::number:
      return parse_number(question.measure, text);
    case QuestionKind::press:
      break;
  }
  const auto hands = parse_hands(lesson.scenario, text);
  if (!hands) return hands.error();
  LessonAnswer answer;
  answer.steps = *hands;
  return answer;
}

}  // namespace drybus::tools
