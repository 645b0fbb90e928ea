#include "tools/script/report_parts.h"

#include <array>

#include "model/words/words.h"
#include "tools/script/keys.h"

namespace drybus::tools {

using model::msg_as;
using model::Seen;
using model::Step;
using model::StepKind;
using model::tr;

namespace {

Seen seen_of(const model::Check& check, std::optional<std::uint32_t> after, bool unsure) {
  return {check.device, check.fact, check.wanted.front(), after, unsure, check.mark};
}

/// Complains when there is more than a diagnosis can go through.
void check_bounds(const model::Scenario& read, const ReportParts& parts, Complaints& complaints) {
  if (parts.script.size() > max_told_steps) {
    complaints.add({parts.script[max_told_steps].mark, 1},
                   tr("a report tells of at most {} steps", max_told_steps));
  } else if (parts.seen.size() > max_seen) {
    complaints.add({parts.seen[max_seen].mark, 1}, tr("a report tells of at most {} observations", max_seen));
  } else if (read.site.device_count() > max_told_devices) {
    complaints.add({{0, 1, 1}, 1}, tr("a report is of at most {} devices", max_told_devices));
  }
}

}  // namespace

ReportParts parts_of(const model::Scenario& read, const ToldSteps& told,
                     const std::vector<StepReader::SeenNow>& now, Complaints& complaints) {
  ReportParts parts;
  for (const Step& step : read.people.front().script) {
    const auto where = ToldSteps::where(step.mark);
    if (step.kind == StepKind::see) {
      if (parts.script.empty())
        parts.script.emplace_back().kind = StepKind::note;  // seen before anything was done
      const auto after = static_cast<std::uint32_t>(parts.script.size() - 1);
      for (const std::uint32_t check : step.checks) {
        parts.seen.push_back(seen_of(read.checks[check], after, told.unsure.contains(where)));
      }
      continue;
    }
    if (told.unsure_steps.contains(where))
      parts.unsure_steps.push_back(static_cast<std::uint32_t>(parts.script.size()));
    if (told.loose.contains(where)) parts.loose.push_back(static_cast<std::uint32_t>(parts.script.size()));
    parts.script.push_back(step);
  }
  // What was seen when all was done, and what is seen now, are one moment.
  for (Seen& seen : parts.seen) {
    if (seen.after_step && *seen.after_step + 1 == parts.script.size()) seen.after_step.reset();
  }
  for (const auto& each : now) parts.seen.push_back(seen_now(each));
  check_bounds(read, parts, complaints);
  return parts;
}

Seen seen_now(const StepReader::SeenNow& now) {
  return seen_of(now.check, std::nullopt, now.unsure);
}

// --- the answers of a guided repair ---

namespace {

/// More than these nobody gives on the telephone.
constexpr std::size_t max_answers = 500;

std::span<const std::string_view> answer_words(model::Asked about) {
  static constexpr std::array<std::string_view, 4> looks = {"yes", "no", "something else", "cannot"};
  static constexpr std::array<std::string_view, 2> done = {"done", "not so"};
  return about == model::Asked::cure ? std::span<const std::string_view>{done} : looks;
}

class AnswerReader {
 public:
  AnswerReader(StepReader& steps, model::Scenario& read, ToldSteps& told, Complaints& complaints)
      : steps_(steps), read_(read), told_(told), complaints_(complaints) {}

  std::optional<model::CallAnswer> read(const Node& node) {
    const Fields fields{complaints_, node, msg_as("what", "an answer"), keys::answer};
    if (node.kind != Node::Kind::map) return std::nullopt;
    model::CallAnswer answer;
    answer.line = node.place.mark.line;
    if (!read_question(node, fields, answer)) return std::nullopt;
    if (const Node* word = fields.need("answer")) {
      const auto words = answer_words(answer.about);
      const auto choice = read_choice(complaints_, *word, msg_as("what", "answer"), words);
      if (choice) answer.answer = words[*choice];
    }
    if (const Node* steps = fields.find("steps")) read_steps(*steps, answer);
    if (const Node* seen = fields.find("seen")) {
      const std::size_t before = told_.read.size();
      for (const StepReader::SeenNow& each : steps_.read_seen(*seen)) answer.seen.push_back(seen_now(each));
      answer.read.assign(told_.read.begin() + static_cast<std::ptrdiff_t>(before), told_.read.end());
      told_.read.resize(before);
    }
    return answer;
  }

 private:
  bool read_question(const Node& node, const Fields& fields, model::CallAnswer& answer) {
    bool found = false;
    for (const model::Asked about : sim::all_of<model::Asked>()) {
      const Node* question = fields.find(to_string(about));
      if (question == nullptr) continue;
      if (found) {
        complaints_.add(question->place, tr("an answer is to one question"));
        return false;
      }
      found = true;
      answer.about = about;
      answer.question = read_text(complaints_, *question).value_or("");
    }
    if (!found && !fields.has_unknown())
      complaints_.add(node.place, tr("what was asked?"), tr("one of: check, again, cure, proof"));
    return found;
  }

  void read_steps(const Node& node, model::CallAnswer& answer) {
    model::Person person{"installer", read_.people.front().place, {}};
    steps_.read(node, person);
    for (Step& step : person.script) {
      if (step.kind != StepKind::see) {
        answer.steps.push_back(std::move(step));
        continue;
      }
      if (answer.steps.empty()) answer.steps.emplace_back().kind = StepKind::note;
      const auto after = static_cast<std::uint32_t>(answer.steps.size() - 1);
      for (const std::uint32_t check : step.checks)
        answer.seen.push_back(
            seen_of(read_.checks[check], after, told_.unsure.contains(ToldSteps::where(step.mark))));
    }
  }

  StepReader& steps_;
  model::Scenario& read_;
  ToldSteps& told_;
  Complaints& complaints_;
};

}  // namespace

std::vector<model::CallAnswer> read_answers(const Node& node, StepReader& steps, model::Scenario& read,
                                            ToldSteps& told, Complaints& complaints) {
  std::vector<model::CallAnswer> answers;
  if (node.kind == Node::Kind::nothing || !is_kind(complaints, node, Node::Kind::list, "answers"))
    return answers;
  if (node.items.size() > max_answers) {
    complaints.add(node.items[max_answers]->place, tr("more than {} answers", max_answers));
    return answers;
  }
  AnswerReader reader{steps, read, told, complaints};
  for (const Node* item : node.items) {
    if (auto answer = reader.read(*item)) answers.push_back(std::move(*answer));
  }
  return answers;
}

}  // namespace drybus::tools
