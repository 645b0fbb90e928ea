#include "tools/call/reply.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/call/words.h"
#include "model/words/words.h"
#include "tools/call/said.h"

namespace drybus::tools {

using model::Asked;
using model::CallAnswer;
using model::CallState;
using model::GuidedStep;
using model::Question;
using model::Seen;
using model::tr;

namespace {

using model::msg_as;

constexpr std::array<Choice, 6> of_a_look = {{{msg_as("answer", "yes"), {"y", "1", "yes it is"}},
                                              {msg_as("answer", "no"), {"n", "2", "no it is not"}},
                                              {msg_as("answer", "something else"), {"e", "else", "0"}},
                                              {msg_as("answer", "cannot"), {"c", "?", "cannot do that"}},
                                              {msg_as("answer", "back"), {"b", "<", "back"}},
                                              {msg_as("answer", "quit"), {"q", "stop", "quit"}}}};
constexpr std::array<Choice, 4> of_a_step = {{{msg_as("answer", "done"), {"d", "1", "yes"}},
                                              {msg_as("answer", "not so"), {"n", "2", "no"}},
                                              {msg_as("answer", "back"), {"b", "<", "back"}},
                                              {msg_as("answer", "quit"), {"q", "stop", "quit"}}}};

/// What people type for these in the words spoken, with commas between: of a step yes and no are its own words.
std::string_view shorter_words(std::string_view word) {
  struct Shorter {
    std::string_view word;
    std::string_view typed;
  };
  static constexpr std::array all = {Shorter{"yes", msg_as("typed", "y")},
                                     Shorter{"no", msg_as("typed", "n")},
                                     Shorter{"something else", msg_as("typed", "e")},
                                     Shorter{"cannot", msg_as("typed", "c")},
                                     Shorter{"done", msg_as("typed", "d,yes")},
                                     Shorter{"not so", msg_as("typed", "n,no")},
                                     Shorter{"back", msg_as("typed", "b")},
                                     Shorter{"quit", msg_as("typed", "q,stop")}};
  for (const Shorter& each : all) {
    if (each.word == word) return model::in_words_spoken(each.typed, "typed");
  }
  return {};
}

bool is_among(std::string_view said, std::string_view words) {
  while (!words.empty()) {
    const std::size_t end = std::min(words.find(','), words.size());
    if (words.substr(0, end) == said) return true;
    words.remove_prefix(std::min(end + 1, words.size()));
  }
  return false;
}

/// In small letters, without blanks and full stops around it.
std::string tidy(std::string_view line) {
  std::string text;
  for (const char c : line) text += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  const auto first = text.find_first_not_of(" \t\r\n.");
  if (first == std::string::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n.") - first + 1);
}

bool is_of_a_step(const CallState& state) {
  return state.stage == CallState::Stage::cure;
}

/// No can mean but one thing.
bool no_says_it(const Question& question) {
  return question.yes.size() == 1 && question.no.size() == 1;
}

/// When what is seen instead is seen: counted within the steps of the question or the cure.
std::uint32_t looked_after(const CallState& state) {
  if (is_of_a_step(state)) return static_cast<std::uint32_t>(state.steps[state.step].steps.size() - 1);
  const Question& question = *state.question;
  if (question.yes.empty()) return static_cast<std::uint32_t>(question.steps.size() - 1);
  return question.yes.front().after_step.value_or(0);
}

std::vector<Seen> instead_of_a_step(const model::Site& site, const GuidedStep& step) {
  const model::DeviceId device = step.seen ? step.seen->device : step.steps.back().device;
  if (device == model::no_device) return {};
  std::vector<Seen> all = all_that_shows(site, device);
  std::erase_if(all, [&](const Seen& seen) {
    return step.seen && seen.fact == step.seen->fact && seen.what == step.seen->what;
  });
  return all;
}

std::vector<Seen> instead_of_a_look(const model::Site& site, const Question& question) {
  if (question.numbers) return all_that_shows(site, question.numbers->plate);
  if (question.yes.size() != 1) {
    std::vector<Seen> others = question.yes;
    for (Seen& seen : others) seen.what = seen.what == "lit" ? "dark" : "lit";
    return others;
  }
  const Seen& asked = question.yes.front();
  std::vector<Seen> all = all_that_shows(site, asked.device);
  std::erase_if(all, [&](const Seen& seen) { return seen.fact == asked.fact && seen.what == asked.what; });
  // What is likely comes first.
  for (auto likely = question.no.rbegin(); likely != question.no.rend(); ++likely) {
    const auto found = std::find_if(all.begin(), all.end(), [&](const Seen& seen) {
      return seen.fact == asked.fact && seen.what == *likely;
    });
    if (found != all.end()) std::rotate(all.begin(), found, found + 1);
  }
  return all;
}

CallAnswer answer_to_a_step(const GuidedStep& step, std::string_view word) {
  CallAnswer answer;
  answer.about = Asked::cure;
  answer.question = step.text;
  answer.answer = word;
  answer.steps = step.steps;
  if (word == "done" && step.seen) answer.seen = {*step.seen};
  return answer;
}

CallAnswer answer_to_a_look(const Question& question, std::string_view word) {
  CallAnswer answer;
  answer.about = question.about;
  answer.question = question.text;
  answer.answer = word;
  answer.steps = question.steps;
  if (word == "yes") {
    answer.seen = question.yes;
    if (question.numbers) answer.read = {*question.numbers};
  } else if (word == "no" && no_says_it(question)) {
    answer.seen = question.yes;
    answer.seen.front().what = question.no.front();
  } else if (word == "cannot" && question.about != Asked::proof) {
    // In a proof what could be done was done, though nobody looked.
    answer.steps.clear();
  }
  return answer;
}

}  // namespace

std::span<const Choice> choices_of_a_look() {
  return of_a_look;
}

std::span<const Choice> choices_of_a_step() {
  return of_a_step;
}

std::span<const Choice> choices_of(const CallState& state) {
  if (is_of_a_step(state)) return of_a_step;
  return state.question ? choices_of_a_look() : std::span<const Choice>{};
}

std::string_view chosen(std::span<const Choice> choices, std::string_view line) {
  const std::string said = tidy(line);
  for (const Choice& choice : choices) {
    if (said == choice.word || said == tidy(spoken_choice(choice.word)) ||
        is_among(said, shorter_words(choice.word)) ||
        std::find(choice.also.begin(), choice.also.end(), said) != choice.also.end())
      return choice.word;
  }
  return {};
}

std::string spoken_choice(std::string_view word) {
  return std::string{model::in_words_spoken(word, "answer")};
}

std::string offered(std::span<const Choice> choices) {
  std::vector<std::string> words;
  for (const Choice& choice : choices) words.push_back(spoken_choice(choice.word));
  return fmt::format("{}", fmt::join(words, " / "));
}

Lacking lacking(const CallState& state, std::string_view answer) {
  if (answer == "not so" || answer == "something else") return Lacking::sight;
  if (answer != "no") return Lacking::nothing;
  if (state.question->numbers) return Lacking::switches;
  return no_says_it(*state.question) ? Lacking::nothing : Lacking::sight;
}

std::string asks_for_more(const CallState& state, std::string_view answer) {
  if (lacking(state, answer) == Lacking::switches) return tr("Which site and zone do they show?");
  if (answer == "something else") return tr("What is seen?");
  const bool of_several = state.question && state.question->yes.size() > 1;
  return of_several && !is_of_a_step(state) ? tr("Which is not, and what is seen there?")
                                            : tr("What is seen instead?");
}

std::optional<Seen> asked_for(const CallState& state) {
  if (is_of_a_step(state)) return state.steps[state.step].seen;
  if (!state.question || state.question->yes.size() != 1) return std::nullopt;
  return state.question->yes.front();
}

std::vector<Seen> seen_instead(const model::Site& site, const CallState& state) {
  return is_of_a_step(state) ? instead_of_a_step(site, state.steps[state.step])
                             : instead_of_a_look(site, *state.question);
}

std::vector<std::string> in_words(const model::Site& site, const std::vector<Seen>& offers) {
  std::vector<std::string> texts;
  const bool of_one = std::all_of(offers.begin(), offers.end(),
                                  [&](const Seen& seen) { return seen.device == offers.front().device; });
  for (const Seen& seen : offers) texts.push_back(of_one ? shown_by_it(seen) : model::said(site, seen));
  return texts;
}

CallAnswer reply_to(const CallState& state, std::string_view word, const Sighting& sighting) {
  CallAnswer answer = is_of_a_step(state) ? answer_to_a_step(state.steps[state.step], word)
                                          : answer_to_a_look(*state.question, word);
  for (Seen seen : sighting.seen) {
    seen.after_step = looked_after(state);
    answer.seen.push_back(std::move(seen));
  }
  answer.read.insert(answer.read.end(), sighting.read.begin(), sighting.read.end());
  return answer;
}

}  // namespace drybus::tools
