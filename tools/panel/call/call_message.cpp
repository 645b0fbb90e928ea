#include "tools/panel/call/call_message.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <filesystem>

#include "model/call/words.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/call/begun.h"
#include "tools/call/call_json.h"
#include "tools/call/intake.h"
#include "tools/call/reply.h"

namespace drybus::tools {

namespace json = boost::json;

using model::CallState;

namespace {

json::array told_json(const std::vector<CallNote>& told) {
  json::array all;
  for (const CallNote& entry : told) {
    const bool markable = entry.kind == CallNote::Kind::done || entry.kind == CallNote::Kind::seen;
    all.push_back({{"kind", to_string(entry.kind)},
                   {"text", entry.text},
                   {"unsure", entry.unsure},
                   {"in_script", entry.in_script},
                   {"editable", entry.own_lines},
                   {"markable", markable}});
  }
  return all;
}

std::string seen_of(const model::Site& site, const model::CallAnswer& answer) {
  std::vector<std::string> parts;
  for (const model::Seen& seen : answer.seen) parts.push_back(model::said(site, seen));
  for (const model::SwitchReading& read : answer.read)
    parts.push_back(model::tr("{} shows {}/{}", model::called(site, read.plate), read.site, read.zone));
  return fmt::format("{}", fmt::join(parts, ", "));
}

std::string_view word_of(Before before) {
  switch (before) {
    case Before::as_the_site_says:
      return "some";
    case Before::addressed:
      return "all";
    case Before::fresh:
      return "none";
  }
  return {};
}

json::array answers_json(const LoadedReport& report) {
  const model::Site& site = report.call.believed.site;
  json::array all;
  for (const model::CallAnswer& answer : report.answers) {
    all.push_back({{"about", to_string(answer.about)},
                   {"question", answer.question},
                   {"answer", answer.answer},
                   {"seen", seen_of(site, answer)}});
  }
  return all;
}

std::string_view word_of(Lacking lacking) {
  switch (lacking) {
    case Lacking::nothing:
      return "nothing";
    case Lacking::sight:
      return "sight";
    case Lacking::switches:
      return "switches";
  }
  return {};
}

/// What each answer still lacks, how that is asked for, and what is offered.
void add_replies(const model::Site& site, const CallState& state, json::object& message) {
  if (choices_of(state).empty()) return;
  json::object lacks;
  json::object asks;
  for (const Choice& choice : choices_of(state)) {
    const std::string_view word = choice.word;
    if (word == "back" || word == "quit") continue;
    lacks[word] = word_of(lacking(state, word));
    asks[word] = asks_for_more(state, word);
  }
  message["lacks"] = std::move(lacks);
  message["asks"] = std::move(asks);
  message["offers"] = texts(in_words(site, seen_instead(site, state)));
}

void add_known(const CallMessage& parts, json::object& message) {
  const CallState& state = *parts.state;
  for (auto& [key, value] : call_json(parts.file, state)) {
    if (key != "call" && key != "answers") message[key] = std::move(value);
  }
  add_replies(parts.file.report().call.believed.site, state, message);
  if (state.question) message["minutes"] = state.question->minutes;
  if (state.stage == CallState::Stage::proof)
    message["proof"] = {{"number", state.proof_step + 1}, {"of", state.proof_steps}};
  message["not_looked_at"] = texts(state.not_looked_at);
}

}  // namespace

json::object call_message_json(const CallMessage& parts) {
  json::object message{{"type", "call"},
                       {"revision", parts.revision},
                       {"file", std::filesystem::path{parts.file.path()}.filename().string()},
                       {"working", parts.working},
                       {"failed", parts.failed.empty() ? json::value(nullptr) : json::value(parts.failed)},
                       {"can_go_back", parts.can_go_back},
                       {"told", told_json(parts.told)}};
  if (!parts.file.has_report()) {
    const IntakeTurn turn = intake_turn(parts.file.intake(), parts.file.path());
    message["stage"] = "intake";
    message["title"] = nullptr;
    message["prompt"] = turn.prompt;
    message["offered"] = texts(turn.choices);
    message["lines"] = texts(parts.file.intake());
    return message;
  }
  message["title"] = parts.file.report().told.scenario.title;
  message["answered"] = answers_json(parts.file.report());
  message["stage"] = "listening";
  message["before"] = word_of(before_of(parts.file.report()));
  if (parts.state != nullptr) add_known(parts, message);
  return message;
}

}  // namespace drybus::tools
