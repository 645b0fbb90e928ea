#include "tools/call/talk.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "model/call/words.h"
#include "tools/base/trimmed.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"
#include "tools/call/said.h"
#include "tools/script/told_words.h"
#include "tools/view/diagnosis_view.h"

namespace drybus::tools {

namespace {

using model::Asked;
using model::CallAnswer;
using model::CallState;
using model::Question;
using model::Seen;

constexpr std::size_t told_explanations = 3;
constexpr std::size_t most_quoted = 60;

std::string tidy(const std::string& line) {
  std::string text;
  for (const char c : line) text += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  const auto first = text.find_first_not_of(" \t\r\n.");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n.") - first + 1);
}

/// What an answer may be called besides its own word.
struct Choice {
  std::string_view word;
  std::array<std::string_view, 3> also;
};
constexpr std::array<Choice, 6> of_a_look = {{{"yes", {"y", "1", "yes it is"}},
                                              {"no", {"n", "2", "no it is not"}},
                                              {"something else", {"e", "else", "0"}},
                                              {"cannot", {"c", "?", "cannot do that"}},
                                              {"back", {"b", "<", "back"}},
                                              {"quit", {"q", "stop", "quit"}}}};
constexpr std::array<Choice, 4> of_a_step = {{{"done", {"d", "1", "yes"}},
                                              {"not so", {"n", "2", "no"}},
                                              {"back", {"b", "<", "back"}},
                                              {"quit", {"q", "stop", "quit"}}}};

template <std::size_t count>
std::string_view chosen(const std::array<Choice, count>& choices, const std::string& line) {
  for (const Choice& choice : choices) {
    if (line == choice.word || std::find(choice.also.begin(), choice.also.end(), line) != choice.also.end())
      return choice.word;
  }
  return {};
}

template <std::size_t count>
std::string offered(const std::array<Choice, count>& choices) {
  std::vector<std::string_view> words;
  for (const Choice& choice : choices) words.push_back(choice.word);
  return fmt::format("{}", fmt::join(words, " / "));
}

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

}  // namespace

CallEnd Talk::go_on() {
  while (true) {
    const LoadedReport& loaded = file_.report();
    state_ = guide_.state(loaded.call, loaded.answers);
    tell_explanations();
    switch (state_.stage) {
      case CallState::Stage::proved:
        respondent_.tell(
            state_.not_looked_at.empty()
                ? "\nProved right: every module obeyed its plate, off and on, and showed itself at its own "
                  "channel.\n"
                : "\n" +
                      paragraph(fmt::format("Right as far as anybody could look. Nobody looked at this: {}",
                                            fmt::join(state_.not_looked_at, " ")),
                                told_width, "", "  "));
        return CallEnd::proved;
      case CallState::Stage::no_cure:
        for (const std::string& reason : state_.reasons) respondent_.tell(paragraph(reason, told_width, "", "  "));
        respondent_.tell("Nothing more can be asked or dictated: somebody has to go there.\n");
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
  respondent_.tell("\nWhat could explain it:\n" + text +
                   (none >= 0.01 ? fmt::format("  or none of these: {:.0f} %\n", none * 100) : ""));
}

std::optional<std::string> Talk::ask_for(const std::string& question, const std::string& choices) {
  auto line =
      respondent_.answer(paragraph(question, told_width, "", "  ") + paragraph(choices, told_width, "  ", "  "));
  if (line && !first_bad_character(*line)) return line;
  if (line && respondent_.again("that cannot be written down")) return std::string{};
  stopped_ = true;
  return std::nullopt;
}

Talk::Next Talk::take_back() {
  if (!file_.take_back()) respondent_.tell("There is nothing to go back to.\n");
  return Next::go_on;
}

// --- looks ---

bool Talk::take_yes(const Question& question, CallAnswer& answer) const {
  answer.seen = question.yes;
  if (question.numbers) answer.read = {*question.numbers};
  return true;
}

std::vector<Seen> Talk::offered_instead(const Question& question) const {
  if (question.yes.size() == 1) {
    std::vector<Seen> all = all_that_shows(site(), question.yes.front().device);
    std::erase_if(all, [&](const Seen& seen) {
      return seen.fact == question.yes.front().fact && seen.what == question.yes.front().what;
    });
    // What is likely comes first.
    for (auto likely = question.no.rbegin(); likely != question.no.rend(); ++likely) {
      const auto found = std::find_if(all.begin(), all.end(), [&](const Seen& seen) {
        return seen.fact == question.yes.front().fact && seen.what == *likely;
      });
      if (found != all.end()) std::rotate(all.begin(), found, found + 1);
    }
    return all;
  }
  std::vector<Seen> others = question.yes;
  for (Seen& seen : others) seen.what = seen.what == "lit" ? "dark" : "lit";
  return others;
}

bool Talk::take_no(const Question& question, CallAnswer& answer) {
  if (question.numbers) {
    while (const auto line = ask_for("Which site and zone do they show?", "such as 23/4, or back")) {
      if (tidy(*line) == "back") return false;
      const auto numbers = parse_switches(&site().family_of(question.numbers->plate), trimmed(*line));
      if (numbers) {
        answer.read = {{question.numbers->plate, (*numbers).first, (*numbers).second, {}}};
        return true;
      }
      if (!respondent_.again(fmt::format("{}: {}", numbers.error().message, numbers.error().expected))) break;
    }
    stopped_ = true;
    return false;
  }
  const std::uint32_t after = question.yes.front().after_step.value_or(0);
  if (question.yes.size() == 1 && question.no.size() == 1) {
    answer.seen = question.yes;
    answer.seen.front().what = question.no.front();
    return true;
  }
  const std::string ask =
      question.yes.size() > 1 ? "Which is not, and what is seen there?" : "What is seen instead?";
  return take_something_else(offered_instead(question), after, ask, answer);
}

bool Talk::take_something_else(const std::vector<Seen>& offers, std::uint32_t after,
                               const std::string& question, CallAnswer& answer) {
  std::vector<std::string> texts;
  const bool of_one = std::all_of(offers.begin(), offers.end(),
                                  [&](const Seen& seen) { return seen.device == offers.front().device; });
  for (const Seen& seen : offers) texts.push_back(of_one ? shown_by_it(seen) : model::said(site(), seen));
  const std::string choices = numbered(texts) + "; or a sentence such as 'M1 blinks', or back";
  while (const auto line = ask_for(question, choices)) {
    if (tidy(*line) == "back" || tidy(*line) == "b") return false;
    Seen seen;
    if (const auto number = number_in(std::string{trimmed(*line)}, offers.size())) {
      seen = offers[*number];
    } else {
      const auto said = parse_said(site(), std::string{trimmed(*line)});
      if (!said) {
        const std::string complaint =
            said.error().message + (said.error().expected.empty() ? "" : ": ") + said.error().expected;
        if (respondent_.again(harmless(characters(complaint, 0, 4 * most_quoted)))) continue;
        break;
      }
      seen = *said;
    }
    seen.after_step = after;
    answer.seen = {seen};
    return true;
  }
  stopped_ = true;
  return false;
}

Talk::Next Talk::ask_question() {
  const Question& question = *state_.question;
  const bool proof = question.about == Asked::proof;
  if (proof && state_.proof_step == 0)
    respondent_.tell("\nNow the proof that all is right, in " + std::to_string(state_.proof_steps) +
                     " looks.\n");
  const std::string head =
      proof ? fmt::format("Proof {}/{}. ", state_.proof_step + 1, state_.proof_steps) : "";
  respondent_.tell("\n");
  while (const auto line = ask_for(head + question.text, offered(of_a_look))) {
    const std::string_view choice = chosen(of_a_look, tidy(*line));
    if (choice == "quit") return Next::stop;
    if (choice == "back") return take_back();
    CallAnswer answer;
    answer.about = question.about;
    answer.question = question.text;
    answer.answer = choice;
    answer.steps = question.steps;
    bool taken = false;
    if (choice == "yes") {
      taken = take_yes(question, answer);
    } else if (choice == "no") {
      taken = take_no(question, answer);
    } else if (choice == "something else") {
      const std::uint32_t after = question.yes.empty() ? static_cast<std::uint32_t>(question.steps.size() - 1)
                                                       : *question.yes.front().after_step;
      const std::vector<Seen> offers =
          question.numbers ? all_that_shows(site(), question.numbers->plate) : offered_instead(question);
      taken = take_something_else(offers, after, "What is seen?", answer);
    } else if (choice == "cannot") {
      // In a proof what could be done was done, though nobody looked.
      if (!proof) answer.steps.clear();
      taken = true;
    } else if (!respondent_.again(fmt::format("'{}' is none of the answers: {}",
                                              harmless(characters(trimmed(*line), 0, most_quoted)),
                                              offered(of_a_look)))) {
      break;
    }
    if (stopped_) return Next::stop;
    if (!taken) continue;
    file_.add(answer);
    return Next::go_on;
  }
  return Next::stop;
}

// --- the cure ---

Talk::Next Talk::dictate() {
  const model::GuidedStep& step = state_.steps[state_.step];
  if (state_.step == 0) {
    respondent_.tell(
        state_.afresh
            ? fmt::format("\nNo explanation has a cure by itself. Everything is done afresh, in {} steps.\n",
                          state_.steps.size())
            : fmt::format("\nThe cure, in {} steps.\n", state_.steps.size()));
  }
  std::string text = fmt::format("Step {}/{}. ", state_.step + 1, state_.steps.size());
  if (!step.caution.empty()) {
    text += step.caution == caution_ ? "The caution from before holds. " : step.caution + " ";
    caution_ = step.caution;
  }
  text += step.text;
  if (!step.shows.empty()) text += fmt::format(" Then {}.", step.shows);
  respondent_.tell("\n");
  while (const auto line = ask_for(text, offered(of_a_step))) {
    const std::string_view choice = chosen(of_a_step, tidy(*line));
    if (choice == "quit") return Next::stop;
    if (choice == "back") return take_back();
    CallAnswer answer;
    answer.about = Asked::cure;
    answer.question = step.text;
    answer.answer = choice;
    answer.steps = step.steps;
    bool taken = choice == "done";
    if (choice == "done" && step.seen) answer.seen = {*step.seen};
    if (choice == "not so") {
      const auto last = static_cast<std::uint32_t>(step.steps.size() - 1);
      std::vector<Seen> offers;
      const model::DeviceId device = step.seen ? step.seen->device : step.steps.back().device;
      if (device != model::no_device) offers = all_that_shows(site(), device);
      std::erase_if(offers, [&](const Seen& seen) {
        return step.seen && seen.fact == step.seen->fact && seen.what == step.seen->what;
      });
      taken = take_something_else(offers, last, "What is seen instead?", answer);
    } else if (choice.empty() &&
               !respondent_.again(fmt::format("'{}' is none of the answers: {}",
                                              harmless(characters(trimmed(*line), 0, most_quoted)),
                                              offered(of_a_step)))) {
      break;
    }
    if (stopped_) return Next::stop;
    if (!taken) continue;
    file_.add(answer);
    return Next::go_on;
  }
  return Next::stop;
}

// --- for programs ---

boost::json::object Talk::state_json() const {
  namespace json = boost::json;
  const auto stage_word = [this]() -> std::string_view {
    switch (state_.stage) {
      case CallState::Stage::check:
        return "check";
      case CallState::Stage::cure:
        return "cure";
      case CallState::Stage::proof:
        return "proof";
      case CallState::Stage::proved:
        return "proved";
      case CallState::Stage::no_cure:
        return "no-cure";
    }
    return {};
  };
  json::array explanations;
  for (const model::RankedExplanation& each : state_.diagnosis.explanations)
    explanations.push_back({{"probability", each.probability}, {"text", each.text}});
  json::array choices;
  json::value question = nullptr;
  json::value step = nullptr;
  if (state_.question) {
    question = state_.question->text;
    for (const Choice& choice : of_a_look) choices.push_back(json::value(choice.word));
  }
  if (state_.stage == CallState::Stage::cure) {
    const model::GuidedStep& now = state_.steps[state_.step];
    step = json::object{{"number", state_.step + 1},
                        {"of", state_.steps.size()},
                        {"text", now.text},
                        {"shows", now.shows.empty() ? json::value(nullptr) : json::value(now.shows)},
                        {"caution", now.caution.empty() ? json::value(nullptr) : json::value(now.caution)},
                        {"afresh", state_.afresh}};
    for (const Choice& choice : of_a_step) choices.push_back(json::value(choice.word));
  }
  json::array reasons;
  for (const std::string& reason : state_.reasons) reasons.push_back(json::value(reason));
  return {{"call", file_.path()},
          {"stage", stage_word()},
          {"question", std::move(question)},
          {"choices", std::move(choices)},
          {"explanations", std::move(explanations)},
          {"unexplained", state_.diagnosis.unexplained},
          {"step", std::move(step)},
          {"reasons", std::move(reasons)},
          {"answers", file_.report().answers.size()},
          {"proved", state_.stage == CallState::Stage::proved}};
}

}  // namespace drybus::tools
