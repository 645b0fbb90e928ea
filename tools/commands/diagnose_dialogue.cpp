#include "tools/commands/diagnose_dialogue.h"

#include <charconv>

#include "model/words/words.h"
#include "tools/base/trimmed.h"
#include "tools/base/utf8.h"
#include "tools/view/diagnosis_view.h"

namespace drybus::tools {

using model::tr;

namespace {

constexpr std::size_t told_between = 5;
constexpr std::size_t most_quoted = 60;  ///< characters of an answer
/// Given when none of the outcomes offered is what was seen.
constexpr std::string_view something_else = "something else";

/// As much of an answer as a message needs, harmless on a terminal.
std::string quoted_answer(const std::string& answer) {
  return harmless(characters(answer, 0, most_quoted));
}

/// What an answer means: an outcome; "" when the check cannot be made; nothing when it is none of those.
std::optional<std::string> outcome_of(const model::NextCheck& next, const std::string& answer) {
  if (answer == "?") return std::string{};
  if (answer == "0") return std::string{something_else};
  for (const model::CheckOutcome& outcome : next.outcomes) {
    if (outcome.text == answer) return answer;
  }
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(answer.data(), answer.data() + answer.size(), number);
  if (error != std::errc{} || end != answer.data() + answer.size()) return std::nullopt;
  if (number < 1 || number > next.outcomes.size()) return std::nullopt;
  return next.outcomes[number - 1].text;
}

std::optional<std::string> answered(const model::NextCheck& next, Respondent& respondent) {
  const std::string question = question_text(next) + tr("  0) something else   ?) it cannot be done") + "\n";
  while (const auto line = respondent.answer(question)) {
    if (auto outcome = outcome_of(next, std::string{trimmed(*line)})) return outcome;
    const std::string complaint = tr("'{}' is none of the answers: a number from 0 to {}, or ?",
                                     quoted_answer(std::string{trimmed(*line)}), next.outcomes.size());
    if (!respondent.again(complaint)) break;
  }
  return std::nullopt;
}

}  // namespace

std::vector<AskedCheck> ask(const model::Report& report, const model::Catalogue& catalogue,
                            model::Diagnosis& diagnosis, Respondent& respondent, double enough) {
  std::vector<AskedCheck> asked;
  std::vector<model::SiteCheck> impossible;
  respondent.tell(ranking_text(diagnosis, told_between));
  while (const auto next = model::next_check(report, diagnosis, enough, impossible)) {
    const auto outcome = answered(*next, respondent);
    if (!outcome) break;
    asked.push_back({next->check, *outcome});
    if (outcome->empty()) {
      impossible.push_back(next->check);
      continue;
    }
    // What nobody predicted will not be cleared up by asking again.
    if (*outcome == something_else) impossible.push_back(next->check);
    model::narrow(report, catalogue, diagnosis, next->check, *outcome);
    respondent.tell(ranking_text(diagnosis, told_between));
  }
  return asked;
}

}  // namespace drybus::tools
