#include "tools/call/talk.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>

#include "model/call/words.h"
#include "model/words/words.h"
#include "tools/base/trimmed.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"
#include "tools/call/call_json.h"
#include "tools/call/said.h"
#include "tools/call/written.h"
#include "tools/script/told_words.h"
#include "tools/view/diagnosis_view.h"

namespace drybus::tools {

namespace {

using model::CallState;
using model::Question;
using model::Seen;
using model::tr;

constexpr std::size_t told_explanations = 3;
constexpr std::size_t most_quoted = 60;

std::string numbered(const std::vector<std::string>& texts) {
  std::string list;
  for (std::size_t i = 0; i < texts.size(); ++i)
    list += fmt::format("{}{}) {}", i == 0 ? "" : ", ", i + 1, texts[i]);
  return list;
}

std::optional<std::size_t> number_in(const std::string& line, std::size_t most) {
  std::size_t number = 0;
  const auto [end, error] = std::from_chars(line.data(), line.data() + line.size(), number);
  if (error != std::errc{} || end != line.data() + line.size() || number < 1 || number > most)
    return std::nullopt;
  return number - 1;
}

std::string proved_text(const CallState& state) {
  if (state.not_looked_at.empty()) {
    return "\n" +
           tr("Proved right: every module obeyed its plate, off and on, and showed itself at its own "
              "channel.") +
           "\n";
  }
  return "\n" + paragraph(tr("Right as far as anybody could look. Nobody looked at this: {}",
                             fmt::format("{}", fmt::join(state.not_looked_at, " "))),
                          told_width, "", "  ");
}

}  // namespace

CallEnd Talk::go_on() {
  while (true) {
    const LoadedReport& loaded = file_.report();
    state_ = guide_.state(loaded.call, loaded.answers);
    tell_explanations();
    switch (state_.stage) {
      case CallState::Stage::proved:
        respondent_.tell(proved_text(state_));
        return CallEnd::proved;
      case CallState::Stage::no_cure:
        for (const std::string& reason : state_.reasons)
          respondent_.tell(paragraph(reason, told_width, "", "  "));
        respondent_.tell(tr("Nothing more can be asked or dictated: somebody has to go there.") + "\n");
        return CallEnd::no_cure;
      case CallState::Stage::check:
      case CallState::Stage::proof:
        if (ask_question() == Next::stop) return CallEnd::paused;
        break;
      case CallState::Stage::cure:
        if (dictate() == Next::stop) return CallEnd::paused;
        break;
    }
  }
}

void Talk::tell_explanations() {
  std::string text = ranking_text(state_.diagnosis, told_explanations);
  if (text == told_) return;
  told_ = text;
  const double none = state_.diagnosis.unexplained;
  respondent_.tell(
      "\n" + tr("What could explain it:") + "\n" + text +
      (none >= 0.01 ? "  " + tr("or none of these: {:.0f} %", none * 100) + "\n" : std::string{}));
}

std::optional<std::string> Talk::ask_for(const std::string& question, const std::string& choices) {
  auto line = respondent_.answer(paragraph(question, told_width, "", "  ") +
                                 paragraph(choices, told_width, "  ", "  "));
  if (line && !first_bad_character(*line)) return line;
  if (line && respondent_.again(tr("that cannot be written down"))) return std::string{};
  stopped_ = true;
  return std::nullopt;
}

Talk::Next Talk::take_back() {
  if (!file_.take_back()) respondent_.tell(tr("There is nothing to go back to.") + "\n");
  return Next::go_on;
}

/// What is lacking to an answer is asked for. Nothing: they went back, or there are no more answers.
std::optional<Sighting> Talk::take_more(std::string_view choice) {
  switch (lacking(state_, choice)) {
    case Lacking::nothing:
      return Sighting{};
    case Lacking::switches:
      return take_switches(choice);
    case Lacking::sight:
      return take_sight(choice);
  }
  return std::nullopt;
}

std::optional<Sighting> Talk::take_switches(std::string_view choice) {
  const model::DeviceId plate = state_.question->numbers->plate;
  while (const auto line = ask_for(asks_for_more(state_, choice), tr("such as 23/4, or back"))) {
    if (chosen(choices_of_a_look(), *line) == "back") return std::nullopt;
    const auto numbers = parse_switches(&site().family_of(plate), trimmed(*line));
    if (numbers) return Sighting{{}, {{plate, (*numbers).first, (*numbers).second, {}}}};
    if (!respondent_.again(in_a_sentence(numbers.error()))) break;
  }
  stopped_ = true;
  return std::nullopt;
}

std::optional<Sighting> Talk::take_sight(std::string_view choice) {
  const std::vector<Seen> offers = seen_instead(site(), state_);
  const std::string choices =
      numbered(in_words(site(), offers)) + tr("; or a sentence such as 'M1 blinks', or back");
  while (const auto line = ask_for(asks_for_more(state_, choice), choices)) {
    const std::string text{trimmed(*line)};
    if (chosen(choices_of_a_look(), text) == "back") return std::nullopt;
    if (const auto number = number_in(text, offers.size())) return Sighting{{offers[*number]}, {}};
    const std::optional<Seen> asked = asked_for(state_);
    const auto said = parse_said(site(), text, asked ? &*asked : nullptr);
    if (said) return Sighting{{*said}, {}};
    if (!respondent_.again(harmless(characters(in_a_sentence(said.error()), 0, 4 * most_quoted)))) break;
  }
  stopped_ = true;
  return std::nullopt;
}

/// Takes the answer to the question or the step that stands.
Talk::Next Talk::take_answer(const std::string& asked) {
  const auto choices = choices_of(state_);
  respondent_.tell("\n");
  while (const auto line = ask_for(asked, offered(choices))) {
    const std::string_view choice = chosen(choices, *line);
    if (choice == "quit") return Next::stop;
    if (choice == "back") return take_back();
    if (choice.empty()) {
      if (respondent_.again(tr("'{}' is none of the answers: {}",
                               harmless(characters(trimmed(*line), 0, most_quoted)), offered(choices))))
        continue;
      break;
    }
    const auto more = take_more(choice);
    if (stopped_) return Next::stop;
    if (!more) continue;
    file_.add(reply_to(state_, choice, *more));
    return Next::go_on;
  }
  return Next::stop;
}

Talk::Next Talk::ask_question() {
  const Question& question = *state_.question;
  const bool proof = question.about == model::Asked::proof;
  if (proof && state_.proof_step == 0)
    respondent_.tell("\n" + tr("Now the proof that all is right, in {} looks.", state_.proof_steps) + "\n");
  const std::string head =
      proof ? tr("Proof {}/{}. ", state_.proof_step + 1, state_.proof_steps) : std::string{};
  return take_answer(head + mindful(question.caution) + question.told);
}

/// A caution before what is asked for; the same again is not read out twice.
std::string Talk::mindful(const std::string& caution) {
  if (caution.empty()) return {};
  if (caution == caution_) return tr("The caution from before holds. ");
  caution_ = caution;
  return caution + " ";
}

Talk::Next Talk::dictate() {
  const model::GuidedStep& step = state_.steps[state_.step];
  if (state_.step == 0) {
    respondent_.tell("\n" +
                     (state_.afresh
                          ? tr("No explanation has a cure by itself. Everything is done afresh, in {} steps.",
                               state_.steps.size())
                          : tr("The cure, in {} steps.", state_.steps.size())) +
                     "\n");
  }
  std::string text = tr("Step {}/{}. ", state_.step + 1, state_.steps.size());
  text += mindful(step.caution) + step.told;
  if (!step.shows.empty()) text += tr(" Then {}.", step.shows);
  return take_answer(text);
}

boost::json::object Talk::state_json() const {
  return call_json(file_, state_);
}

}  // namespace drybus::tools
