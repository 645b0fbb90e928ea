#include "tools/script/lesson_reader.h"

#include <algorithm>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/script/fact_value.h"
#include "tools/script/keys.h"
#include "tools/script/lesson.h"
#include "tools/script/site_index.h"
#include "tools/script/step_reader.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::Fact;
using model::LessonQuestion;
using model::LessonStop;
using model::msg_as;
using model::QuestionKind;
using model::tr;

namespace {

constexpr sim::Duration usual_within = std::chrono::minutes{10};
std::string expected_stop() {
  return tr("start, end, note 1 (the first note of the script), or a time such as 4min 5s");
}

class QuestionReader {
 public:
  QuestionReader(Loader& loader, Complaints& complaints, model::Lesson& lesson)
      : loader_(loader), complaints_(complaints), lesson_(lesson), index_(lesson.scenario.site, complaints) {}

  std::optional<LessonQuestion> read(const Node& node) {
    const std::size_t before = complaints_.count();
    const Fields fields{complaints_, node, msg_as("what", "a question"), keys::question};
    if (node.kind != Node::Kind::map) return std::nullopt;
    LessonQuestion question;
    question.mark = node.place.mark;
    if (const Node* stop = fields.need("stop")) read_stop(*stop, question.stop);
    if (const Node* ask = fields.need("ask")) question.ask = read_text(complaints_, *ask).value_or("");
    if (const Node* because = fields.find("because"))
      question.because = read_text(complaints_, *because).value_or("");
    if (const Node* hints = fields.find("hints")) read_hints(*hints, question);
    if (const Node* uncovers = fields.find("uncovers")) read_uncovers(*uncovers, question);
    read_kind(fields, question);
    if (complaints_.count() != before) return std::nullopt;
    return question;
  }

 private:
  // --- where ---

  void read_stop(const Node& node, LessonStop& stop) {
    const auto text = read_text(complaints_, node);
    if (!text) return;
    if (*text == "start" || *text == "end") {
      stop.kind = *text == "start" ? LessonStop::Kind::start : LessonStop::Kind::end;
    } else if (text->starts_with("note")) {
      read_note(node, text->substr(4), stop);
    } else if (const auto time = parse_duration(*text)) {
      stop.kind = LessonStop::Kind::time;
      stop.at = sim::start_of_run + *time;
    } else {
      complaints_.add(node.place, tr("'{}' is nowhere to stop", *text), expected_stop());
    }
  }

  void read_note(const Node& node, std::string_view number, LessonStop& stop) {
    std::vector<std::uint32_t> notes;
    const auto& script = lesson_.scenario.people[0].script;
    for (std::uint32_t i = 0; i < script.size(); ++i) {
      if (script[i].kind == model::StepKind::note) notes.push_back(i);
    }
    const auto which = parse_whole(number.substr(std::min(number.find_first_not_of(' '), number.size())));
    if (!which || *which == 0) {
      complaints_.add(node.place, tr("which note of the script?"), expected_stop());
    } else if (*which > notes.size()) {
      complaints_.add(
          node.place,
          model::plural("the script has {} note", "the script has {} notes", notes.size(), notes.size()),
          notes.empty() ? tr("start, end, or a time such as 4min 5s")
                        : tr("note 1 to note {}", notes.size()));
    } else {
      stop.kind = LessonStop::Kind::note;
      stop.step = notes[*which - 1];
    }
  }

  // --- what goes with every question ---

  void read_hints(const Node& node, LessonQuestion& question) {
    if (!is_kind(complaints_, node, Node::Kind::list, "hints")) return;
    if (node.items.size() > max_hints) complaints_.add(node.place, tr("more than {} hints", max_hints));
    for (const Node* item : node.items) question.hints.push_back(read_text(complaints_, *item).value_or(""));
  }

  void read_uncovers(const Node& node, LessonQuestion& question) {
    if (!is_kind(complaints_, node, Node::Kind::list, "uncovers")) return;
    for (const Node* item : node.items) {
      const auto text = read_text(complaints_, *item);
      if (!text) continue;
      const std::size_t dot = text->find('.');
      if (dot == std::string::npos) {
        complaints_.add(item->place, tr("which fact of '{}'?", *text),
                        tr("a device and a fact, such as M1.mode"));
        continue;
      }
      const auto device = index_.device(item->place_of(0, dot), std::string_view{*text}.substr(0, dot));
      if (!device) continue;
      const std::string_view word = std::string_view{*text}.substr(dot + 1);
      const auto facts = facts_of(lesson_.scenario.site.is_plate(*device));
      const auto found =
          std::find_if(facts.begin(), facts.end(), [&](Fact fact) { return to_string(fact) == word; });
      if (found != facts.end()) {
        question.uncovers.emplace_back(*device, *found);
      } else {
        std::vector<std::string_view> right;
        for (const Fact fact : facts) right.push_back(to_string(fact));
        complain_of_unknown(complaints_, item->place_of(dot + 1, word.size()), msg_as("what", "fact"), word,
                            Words{right});
      }
    }
  }

  // --- what is asked for ---

  void read_kind(const Fields& fields, LessonQuestion& question) {
    static constexpr std::array<std::pair<std::string_view, QuestionKind>, 5> kinds = {
        {{"choice", QuestionKind::choice},
         {"place", QuestionKind::place},
         {"device", QuestionKind::device},
         {"number", QuestionKind::number},
         {"press", QuestionKind::press}}};
    const Node* asked = nullptr;
    for (const auto& [key, kind] : kinds) {
      const Node* node = fields.find(key);
      if (node == nullptr) continue;
      if (asked != nullptr) {
        complaints_.add(node->place, tr("this question already asks for a {}", to_string(question.kind)),
                        tr("one of: choice, place, device, number, press"));
        continue;
      }
      asked = node;
      question.kind = kind;
    }
    if (asked == nullptr) {
      if (!fields.has_unknown())
        complaints_.add(fields.map().place, tr("this question does not say what counts as right"),
                        tr("one of: choice, place, device, number, press"));
      return;
    }
    for (const char* key : {"within", "way"}) {
      const Node* stray = fields.find(key);
      if (stray != nullptr && question.kind != QuestionKind::press)
        complaints_.add(stray->place, tr("'{}' goes with 'press'", key));
    }
    read_right(fields, *asked, question);
  }

  void read_right(const Fields& fields, const Node& node, LessonQuestion& question) {
    switch (question.kind) {
      case QuestionKind::choice:
        return read_options(node, question);
      case QuestionKind::place:
      case QuestionKind::device:
        question.quality = read_quality(node);
        return;
      case QuestionKind::number:
        return read_measure(node, question.measure);
      case QuestionKind::press:
        return read_press(fields, node, question);
    }
  }

  void read_options(const Node& node, LessonQuestion& question) {
    if (!is_kind(complaints_, node, Node::Kind::list, msg_as("what", "a choice"))) return;
    if (node.items.size() < 2 || node.items.size() > max_options)
      complaints_.add(node.place, tr("a choice of {}", node.items.size()), tr("2 to {}", max_options));
    for (const Node* item : node.items) {
      const Fields fields{complaints_, *item, msg_as("what", "an option"), keys::lesson_option};
      model::LessonOption option;
      if (const Node* says = fields.need("says")) option.says = read_text(complaints_, *says).value_or("");
      if (const Node* right_if = fields.need("if")) option.right_if = read_condition(*right_if);
      question.options.push_back(std::move(option));
    }
  }

  /// Read as what a script expects: one reading of facts and values for all files.
  model::LessonCondition read_condition(const Node& node) {
    model::Scenario scratch;
    model::Person person;
    StepReader steps{index_, &lesson_.scenario.site.family, loader_, complaints_, scratch};
    Node key;
    key.kind = Node::Kind::word;
    key.text = "expect";
    key.place = node.place;
    Node step;
    step.kind = Node::Kind::map;
    step.place = node.place;
    step.entries.push_back({&key, &node});
    Node list;
    list.kind = Node::Kind::list;
    list.place = node.place;
    list.items.push_back(&step);
    steps.read(list, person);
    return std::move(scratch.checks);
  }

  model::Quality read_quality(const Node& node) {
    model::Quality quality;
    if (!is_kind(complaints_, node, Node::Kind::map, msg_as("what", "what is true of the right one")))
      return quality;
    if (node.entries.empty())
      complaints_.add(node.place, tr("nothing that would make one the right one"), "{mode: setup}");
    for (const Node::Entry& entry : node.entries) {
      const auto facts = words::facts();
      const auto which = read_choice(complaints_, *entry.key, msg_as("what", "fact"),
                                     facts.first(facts.size() - 1));  // all but findings
      const auto text = read_text(complaints_, *entry.value);
      if (!which || !text) continue;
      const auto fact = static_cast<Fact>(*which);
      const Quantity<std::string> value = value_of_any(fact, *text);
      if (value) {
        quality.facts.emplace_back(fact, *value);
      } else {
        complain_of(complaints_, *entry.value, value.error());
      }
    }
    return quality;
  }

  /// As some device of the site can have it.
  Quantity<std::string> value_of_any(Fact fact, const std::string& text) {
    const model::Site& site = lesson_.scenario.site;
    std::optional<QuantityError> error;
    for (model::DeviceId device = 0; device < site.device_count(); ++device) {
      const auto facts = facts_of(site.is_plate(device));
      if (std::find(facts.begin(), facts.end(), fact) == facts.end()) continue;
      auto value = parse_fact_value(site, device, fact, text);
      if (value) return value;
      if (!error) error = value.error();
    }
    return error.value_or(QuantityError{tr("no device of this site has a {}", to_string(fact)), "", ""});
  }

  // --- numbers ---

  void read_measure(const Node& node, model::Measure& measure) {
    const Fields fields{complaints_, node, msg_as("what", "a number"), keys::lesson_number};
    if (node.kind != Node::Kind::map) return;
    const Node* of = fields.find("of");
    const Node* count = fields.find("count");
    const Node* time_left = fields.find("time_left");
    if ((of != nullptr) + (count != nullptr) + (time_left != nullptr) != 1) {
      if (!fields.has_unknown())
        complaints_.add(node.place, tr("which number?"),
                        tr("one of: of: P1.channel, count: {{mode: setup}}, time_left: P1"));
      return;
    }
    if (of != nullptr) read_number_of(*of, measure);
    if (count != nullptr) {
      measure.kind = model::Measure::Kind::count;
      measure.quality = read_quality(*count);
    }
    if (time_left != nullptr) {
      measure.kind = model::Measure::Kind::time_left;
      if (const auto name = read_text(complaints_, *time_left))
        measure.device = index_.device(time_left->place, *name).value_or(model::no_device);
    }
    if (const Node* off = fields.find("off_by")) read_tolerance(*off, measure);
  }

  void read_number_of(const Node& node, model::Measure& measure) {
    static constexpr std::array<std::string_view, 5> numbers = {"load", "level", "channel", "site", "zone"};
    const auto text = read_text(complaints_, node);
    if (!text) return;
    const std::size_t dot = text->find('.');
    if (dot == std::string::npos)
      return complaints_.add(node.place, tr("which number of '{}'?", *text),
                             tr("a device and a fact, such as P1.channel"));
    const auto device = index_.device(node.place_of(0, dot), std::string_view{*text}.substr(0, dot));
    if (!device) return;
    measure.device = *device;
    const std::string_view word = std::string_view{*text}.substr(dot + 1);
    const auto facts = facts_of(lesson_.scenario.site.is_plate(*device));
    std::vector<std::string_view> right;
    for (const Fact fact : facts) {
      if (std::find(numbers.begin(), numbers.end(), to_string(fact)) == numbers.end()) continue;
      right.push_back(to_string(fact));
      if (to_string(fact) != word) continue;
      measure.fact = fact;
      return;
    }
    complain_of_unknown(complaints_, node.place_of(dot + 1, word.size()),
                        msg_as("what", "number of this device"), word, Words{right});
  }

  void read_tolerance(const Node& node, model::Measure& measure) {
    if (measure.kind == model::Measure::Kind::time_left) {
      if (const auto time = read_quantity(complaints_, node, parse_duration))
        measure.tolerance = sim::seconds(*time);
    } else if (measure.kind == model::Measure::Kind::fact &&
               (measure.fact == Fact::load || measure.fact == Fact::level)) {
      const auto text = read_text(complaints_, node);
      if (!text) return;
      const auto percent = parse_with_unit(*text, "%");
      if (!percent) return complain_of(complaints_, node, percent.error());
      measure.tolerance = *percent;
    } else if (const auto whole = read_whole(complaints_, node, 0, 1000)) {
      measure.tolerance = static_cast<double>(*whole);
    }
  }

  // --- press it yourself ---

  void read_press(const Fields& fields, const Node& node, LessonQuestion& question) {
    if (question.stop.kind == LessonStop::Kind::time) {
      complaints_.add(
          node.place,
          tr("whoever presses takes over from the installer, who has something in hand at that time"),
          tr("a stop at a note, at the start or at the end"));
    }
    question.goal = read_condition(node);
    question.within = usual_within;
    read_some_time_into(complaints_, fields.find("within"), question.within);
    const Node* way = fields.find("way");
    if (way == nullptr) return;
    model::Scenario scratch;
    model::Person person;
    StepReader steps{index_, &lesson_.scenario.site.family, loader_, complaints_, scratch};
    steps.read(*way, person);
    for (const model::Step& step : person.script) {
      if (step.kind == model::StepKind::see || step.kind == model::StepKind::expect || step.at)
        complaints_.add({step.mark, 1}, tr("a way is done, from wherever the story stops"),
                        tr("steps without looks and hours"));
    }
    question.way = std::move(person.script);
  }

  Loader& loader_;
  Complaints& complaints_;
  model::Lesson& lesson_;
  SiteIndex index_;
};

}  // namespace

void read_questions(const Fields& fields, Loader& loader, Complaints& complaints, model::Lesson& lesson,
                    std::vector<Place>& places) {
  if (const Node* title = fields.need("title")) lesson.title = read_line(complaints, *title).value_or("");
  if (const Node* about = fields.need("about")) lesson.about = read_text(complaints, *about).value_or("");
  read_whole_into(complaints, fields.find("tries"), lesson.tries, 1, 9);
  const Node* questions = fields.need("questions");
  if (questions == nullptr || !is_kind(complaints, *questions, Node::Kind::list, "questions")) return;
  if (questions->items.empty()) complaints.add(questions->place, tr("a lesson without a question"));
  if (questions->items.size() > max_questions)
    return complaints.add(questions->place, tr("more than {} questions", max_questions));
  QuestionReader reader{loader, complaints, lesson};
  for (const Node* item : questions->items) {
    auto question = reader.read(*item);
    if (!question) continue;
    lesson.questions.push_back(std::move(*question));
    places.push_back(item->place);
  }
}

}  // namespace drybus::tools
