#include "tools/commands/handover_answers.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/algorithm/string.hpp>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"
#include "tools/schedule/table.h"
#include "tools/script/files.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

using model::tr;

namespace {

class AnswerReader {
 public:
  AnswerReader(std::string path, const HandoverReport& report) : path_(std::move(path)), report_(report) {
    for (const HandoverLine& line : report.lines) {
      if (line.number > 0) lines_[line.number] = &line;
    }
    answers_.lines = static_cast<std::uint32_t>(lines_.size());
  }

  RoundAnswers read(const std::string& text) {
    std::vector<std::string> lines;
    boost::split(lines, text, boost::is_any_of("\n"));
    for (const std::string& whole : lines) {
      ++number_;
      line_ = tidied(whole.substr(0, whole.find('#')));
      if (!line_.empty()) read_line();
    }
    return std::move(answers_);
  }

 private:
  [[noreturn]] void refuse(const std::string& why) const {
    throw Unusable{fmt::format("{}:{}: {}\n  {}", path_, number_, why, line_)};
  }

  void read_line() {
    const auto colon = line_.find(':');
    if (colon == std::string::npos)
      refuse(tr("expected a number, a colon and what was seen, such as '4: yes' or '4: M2 dark'"));
    const std::string which = tidied(line_.substr(0, colon));
    const std::string what = tidied(line_.substr(colon + 1));
    if (boost::iequals(which, "all")) return answer_rest(what);
    const auto dash = which.find('-');
    const std::uint32_t first = line_number(which.substr(0, dash));
    const std::uint32_t last = dash == std::string::npos ? first : line_number(which.substr(dash + 1));
    if (last < first) refuse(tr("the first line comes after the last"));
    if (last > first && !is_yes(what)) refuse(tr("only 'yes' can be said of several lines"));
    for (std::uint32_t number = first; number <= last; ++number) {
      const auto [place, fresh] = answers_.by_number.insert({number, answer_of(number, what)});
      if (!fresh) refuse(tr("line {} is answered twice", number));
    }
  }

  /// Every line that is not answered by now.
  void answer_rest(const std::string& what) {
    if (!is_yes(what)) refuse(tr("only 'yes' can be said of several lines"));
    for (const auto& [number, line] : lines_) answers_.by_number.insert({number, {true, {}}});
  }

  [[nodiscard]] std::uint32_t line_number(const std::string& text) const {
    const auto number = parse_whole(tidied(text));
    if (!number || !lines_.contains(static_cast<std::uint32_t>(*number)))
      refuse(tr("'{}' is no line of the sheet: expected 1 to {}", tidied(text), lines_.size()));
    return static_cast<std::uint32_t>(*number);
  }

  static bool is_yes(const std::string& what) {
    const std::string word = boost::to_lower_copy(what);
    return word == "yes" || word == "y" || word == "ok" || word == "x";
  }

  [[nodiscard]] RoundAnswer answer_of(std::uint32_t number, const std::string& what) const {
    if (is_yes(what)) return {true, {}};
    const HandoverLine& line = *lines_.at(number);
    RoundAnswer answer;
    if (boost::iequals(what, "no")) {
      if (line.checks.size() != 1)
        refuse(tr("several loads are looked at here: say of which what was seen, such as 'M2 dark'"));
      answer.otherwise[line.checks.front()] = opposite(line.checks.front());
      return answer;
    }
    std::vector<std::string> parts;
    boost::split(parts, what, boost::is_any_of(","));
    for (const std::string& part : parts) add(line, tidied(part), answer);
    return answer;
  }

  [[nodiscard]] const model::Check& check(std::uint32_t index) const {
    return report_.round.trial.scenario.checks[index];
  }

  [[nodiscard]] std::string opposite(std::uint32_t index) const {
    const model::Check& look = check(index);
    return look.wanted.front() == "dark" ? (look.fact == model::Fact::indicator ? "blink" : "lit") : "dark";
  }

  void add(const HandoverLine& line, const std::string& part, RoundAnswer& answer) const {
    const model::Site& site = report_.built.site;
    const auto blank = part.find(' ');
    const std::string name = part.substr(0, blank);
    std::vector<std::string> names;
    for (const std::uint32_t index : line.checks) {
      names.push_back(site.name(check(index).device));
      if (!boost::iequals(names.back(), name)) continue;
      const std::string what = blank == std::string::npos ? "" : boost::to_lower_copy(part.substr(blank + 1));
      answer.otherwise[index] = seen_of(index, what);
      return;
    }
    refuse(tr("'{}' is not looked at in this line: expected {}.{}", name, one_of(names),
              did_you_mean(name, names)));
  }

  [[nodiscard]] std::string seen_of(std::uint32_t index, const std::string& what) const {
    if (check(index).fact == model::Fact::indicator) {
      for (const std::string_view pattern : {"dark", "blink", "breathe", "steady", "blip", "refuse"}) {
        if (what == pattern) return what;
      }
      refuse(tr("'{}' is nothing that a lamp shows: dark, blink, breathe, steady, blip or refuse", what));
    }
    if (what == "lit" || what == "dark") return what;
    if (const auto level = parse_percent(what)) return model::percent_text(*level);
    refuse(tr("'{}' is nothing that a load shows: lit, dark, or a level such as 40 %", what));
  }

  std::string path_;
  const HandoverReport& report_;
  std::map<std::uint32_t, const HandoverLine*> lines_;
  RoundAnswers answers_;
  std::size_t number_ = 0;
  std::string line_;
};

}  // namespace

bool RoundAnswers::all_ticked() const {
  return by_number.size() == lines &&
         std::all_of(by_number.begin(), by_number.end(), [](const auto& each) { return each.second.ticked; });
}

RoundAnswers read_round_answers(const std::string& path, const HandoverReport& report) {
  const auto content = DiskFiles{}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&content))
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  const std::string& text = std::get<std::string>(content);
  if (const auto bad = first_bad_character(text))
    throw Unusable{tr("{}: {} at byte {}", path, bad->what, bad->offset)};
  return AnswerReader{path, report}.read(text);
}

std::string answers_text(const RoundAnswers& answers, const HandoverReport& report) {
  std::size_t ticked = 0;
  std::string missing;
  for (const HandoverLine& line : report.lines) {
    const auto answer = answers.by_number.find(line.number);
    if (line.number == 0 || answer == answers.by_number.end()) continue;
    if (answer->second.ticked) {
      ++ticked;
      continue;
    }
    std::string seen;
    for (const auto& [check, what] : answer->second.otherwise) {
      seen += fmt::format("{}{} {}", seen.empty() ? "" : ", ",
                          report.built.site.name(report.round.trial.scenario.checks[check].device), what);
    }
    missing += paragraph(tr("{}: {} -> {} Seen: {}", line.place, line.todo, line.seen, seen), 110,
                         fmt::format("  {:>3}. ", line.number), "       ");
  }
  const std::size_t open = answers.lines - answers.by_number.size();
  std::string text =
      (open > 0 ? tr("{} of {} lines are ticked, {} are not answered", ticked, answers.lines, open)
                : tr("{} of {} lines are ticked", ticked, answers.lines)) +
      "\n";
  if (!missing.empty()) text += tr("not as it should be:") + "\n" + missing;
  if (answers.all_ticked()) text += tr("the site is proved as far as the round can prove it") + "\n";
  return text;
}

std::string answered_report(const RoundAnswers& answers, const HandoverReport& report, LoadedScenario round,
                            const WriteOptions& options) {
  const model::Speaking english{nullptr};
  model::Scenario& scenario = round.scenario;
  scenario.title = "The round, as it was answered";
  scenario.about =
      "Made by drybus handover from the answers: the site as it was built, what was done on the round, and "
      "what was seen.\n";
  // What follows the last answer was not done, and a look without an answer not made.
  std::uint32_t last_act = 0;
  std::vector<bool> looked(scenario.checks.size(), false);
  for (const HandoverLine& line : report.lines) {
    const auto answer = answers.by_number.find(line.number);
    if (line.number == 0 || answer == answers.by_number.end()) continue;
    last_act = std::max(last_act, line.act + 1);
    for (const std::uint32_t check : line.checks) looked[check] = true;
    for (const auto& [check, what] : answer->second.otherwise) scenario.checks[check].wanted = {what};
  }
  std::vector<model::Step>& script = scenario.people.front().script;
  script.resize(report.round.trial.steps_before[last_act]);
  for (std::size_t person = 1; person < scenario.people.size(); ++person)
    scenario.people[person].script.clear();
  scenario.people.resize(1);
  for (model::Step& step : script)
    std::erase_if(step.checks, [&looked](std::uint32_t check) { return !looked[check]; });
  std::erase_if(script, [](const model::Step& step) {
    return step.kind == model::StepKind::see && step.checks.empty();
  });
  std::string text = write_scenario(round, options);
  constexpr std::string_view begins = "drybus: 1";
  if (text.starts_with(begins)) text.replace(0, begins.size(), "drybus-report: 1");
  return text;
}

}  // namespace drybus::tools
