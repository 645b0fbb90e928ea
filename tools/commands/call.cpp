// drybus call: one guided repair, from the call to the proof that all is right.
#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>
#include <iostream>
#include <optional>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/base/wrap.h"
#include "tools/call/intake.h"
#include "tools/call/reply.h"
#include "tools/call/talk.h"
#include "tools/commands/call_page.h"
#include "tools/commands/command.h"
#include "tools/commands/diagnose_answers.h"
#include "tools/commands/on_the_line.h"
#include "tools/commands/watched_diagnosis.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

void add_call_options(CommandLine& line) {
  line.add()("answers", po::value<std::string>(),
             msg("take the answers from this file, a line each, before any others").data());
  line.add()("capture", po::value<std::string>(),
             msg("a capture of the bus: pcapng, or a record as JSON Lines").data());
  line.add()("capture-in-part", msg("the capture is of a part of what was told").data());
  line.add()("catalogue", po::value<std::string>(), msg("another catalogue of slips and faults").data());
  offer_page(line);
  line.offer_json();
}

/// The answers of a file, then whoever is on the line, unless programs want to read the outcome.
class FileThenLine final : public Respondent {
 public:
  FileThenLine(AnswerFile file, bool quiet) : file_(std::move(file)), line_(quiet) {}
  [[nodiscard]] std::optional<std::string> answer(const std::string& question) override {
    if (from_file_) {
      if (auto line = file_.answer(question)) return line;
      from_file_ = false;
    }
    return line_.answer(question);
  }
  [[nodiscard]] bool again(const std::string& complaint) override {
    return from_file_ ? file_.again(complaint) : line_.again(complaint);
  }
  void tell(const std::string& text) override { line_.tell(text); }

 private:
  AnswerFile file_;
  OnTheLine line_;
  bool from_file_ = true;
};

/// The first of call-1.yaml, call-2.yaml ... that is not there.
std::string new_name() {
  for (int number = 1;; ++number) {
    const std::string name = fmt::format("call-{}.yaml", number);
    if (!std::filesystem::exists(name)) return name;
  }
}

std::string with_choices(const IntakeTurn& turn) {
  std::string text = paragraph(turn.prompt, told_width, "", "  ");
  for (std::size_t i = 0; i < turn.choices.size(); ++i)
    text += fmt::format("  {}) {}", i + 1, turn.choices[i]);
  return text + (turn.choices.empty() ? "" : "\n");
}

/// The word of a choice, in English or in the words spoken.
bool is_said(const std::string& line, std::string_view choice) {
  return line == choice || line == spoken_choice(choice);
}

/// Asks for a report, line by line. Nothing: there are no more answers, and this is what would be asked.
std::optional<IntakeTurn> take_report(CallFile& file, Respondent& respondent) {
  while (true) {
    const IntakeTurn turn = intake_turn(file.intake(), file.path());
    if (!turn.refused.empty()) throw Unusable{tr("{}: its last line: {}", file.path(), turn.refused)};
    if (turn.prompt.empty()) {
      file.set_report(turn.report);
      return std::nullopt;
    }
    const auto line = respondent.answer(with_choices(turn));
    if (!line || is_said(*line, "quit")) return turn;
    std::vector<std::string> lines = file.intake();
    if (is_said(*line, "back")) {
      if (!lines.empty()) lines.pop_back();
      file.set_intake(std::move(lines));
      continue;
    }
    std::string refused = first_bad_character(*line) ? tr("that cannot be written down") : std::string{};
    lines.push_back(*line);
    if (refused.empty()) refused = intake_turn(lines, file.path()).refused;
    if (refused.empty()) {
      file.set_intake(std::move(lines));
    } else if (!respondent.again(harmless(refused))) {
      return turn;
    }
  }
}

json::object intake_json(const CallFile& file, const IntakeTurn& turn) {
  json::array choices;
  for (const std::string& choice : turn.choices) choices.push_back(json::value(choice));
  return {{"call", file.path()},
          {"stage", "intake"},
          {"question", turn.prompt},
          {"choices", std::move(choices)},
          {"explanations", json::array{}},
          {"unexplained", nullptr},
          {"step", nullptr},
          {"reasons", json::array{}},
          {"answers", file.intake().size()},
          {"proved", false}};
}

std::string resume_text(const CallFile& file) {
  return "\n" + tr("Kept in {}. To go on: drybus call {}", file.path(), file.path()) + "\n";
}

int talk(const CommandLine& line, CallFile& file, Respondent& respondent) {
  const bool wants_json = line.json_wanted();
  if (!file.has_report()) {
    if (const auto stopped = take_report(file, respondent)) {
      if (wants_json) print_out(json_text(intake_json(file, *stopped)) + "\n");
      respondent.tell(resume_text(file));
      return exit_fine;
    }
  }
  add_capture(file.report(), line.optional_text("capture"), line.has("capture-in-part"));
  const model::Catalogue catalogue = load_catalogue(file.path(), line.optional_text("catalogue"));
  respondent.tell(file.report().told.scenario.title + "\n");
  Talk conversation{file, respondent,
                    [&](const model::Report& report) { return diagnose_watched(report, catalogue); }};
  const CallEnd end = conversation.go_on();
  if (wants_json) print_out(json_text(conversation.state_json()) + "\n");
  if (end == CallEnd::paused) respondent.tell(resume_text(file));
  return end == CallEnd::no_cure ? exit_failed : exit_fine;
}

}  // namespace

int call_command(Arguments arguments) {
  CommandLine line{
      msg("drybus call [FILE] [options]\n\n"
          "One guided repair: the call, checks that settle the cause, the cure step by step, the proof. FILE "
          "is "
          "a report;\n"
          "every answer is added to it at once, so that the call can be put down, taken up again and handed "
          "over. Without\n"
          "FILE, or with one that is not there yet, the report is asked for. Any answer may be 'back' or "
          "'quit'.\n"
          "With --page the call is written in the browser; it is the same file, and each goes on where the "
          "other "
          "stopped.\n"
          "drybus diagnose FILE and drybus recover FILE take the answers into account.")
          .data()};
  add_call_options(line);
  line.take_words("FILE", 0, 1);
  if (!line.parse(arguments)) return exit_fine;
  if (!line.words().empty() && line.words()[0] == "-")
    throw Unusable{tr("a call is kept in a file: name one")};
  CallFile file{line.words().empty() ? new_name() : line.words()[0]};
  if (line.has("page") && (line.has("answers") || line.json_wanted()))
    throw Unusable{tr("--page is for people: it takes no --answers, and answers no program")};
  if (const auto site = line.optional_text("site")) begin_on(file, *site);
  if (line.has("page")) {
    if (file.has_report())
      add_capture(file.report(), line.optional_text("capture"), line.has("capture-in-part"));
    return serve_page(std::move(file), line);
  }
  const bool quiet = line.json_wanted();
  if (line.has("answers")) {
    FileThenLine respondent{read_answer_file(line.text("answers"), quiet), quiet};
    return talk(line, file, respondent);
  }
  OnTheLine respondent{quiet};
  return talk(line, file, respondent);
}

}  // namespace drybus::tools
