// drybus teach: a lesson checked and played without a browser, and a pupil's answers judged.
#include <fmt/format.h>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/utf8.h"
#include "tools/commands/diagnose_answers.h"
#include "tools/commands/lesson_commands.h"
#include "tools/commands/lesson_sheets.h"
#include "tools/load/load_lesson.h"
#include "tools/options/paper.h"
#include "tools/view/lesson_view.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;
using model::msg;
using model::tr;

constexpr std::size_t most_of_an_answer = 60;  ///< characters of an answer

void add_teach_options(CommandLine& line) {
  line.add()("answers", po::value<std::string>(),
             msg("judge a pupil's answers: a file with an answer on each line, or the word hint").data());
  line.offer_output("csv", msg("with --answers: write how each question went, as CSV").data());
  line.offer_output("sheet",
                    msg("write a pupil's sheet to fill in: PDF where the name ends so, else HTML").data());
  line.offer_output("answer-sheet", msg("write the sheet with the answers, likewise").data());
  offer_paper(line);
  line.offer_json();
}

std::string complaint_about(const std::string& written, const QuantityError& error) {
  std::string text =
      error.message.find(written) != std::string::npos
          ? error.message
          : fmt::format("'{}': {}", harmless(characters(written, 0, most_of_an_answer)), error.message);
  if (!error.expected.empty()) text += tr("; expected {}", error.expected);
  if (!error.suggestion.empty()) text += tr("; did you mean '{}'?", error.suggestion);
  return text;
}

/// One pupil goes through the lesson, as far as there are answers.
class Judging {
 public:
  Judging(const LoadedLesson& loaded, AnswerFile& answers) : loaded_(loaded), answers_(answers) {}

  model::Pupil judged() {
    while (pupil_.question() < loaded_.lesson.questions.size()) {
      const auto line = answers_.answer(question_text(loaded_.lesson, pupil_.question()));
      if (!line) break;
      take(*line);
    }
    return pupil_;
  }

 private:
  void take(const std::string& written) {
    const std::size_t number = pupil_.question();
    const model::LessonQuestion& question = loaded_.lesson.questions[number];
    if (written == "hint") {
      const auto hint = take_hint(pupil_, loaded_.lesson);
      return answers_.tell(hint ? "    " + tr("hint: {}", question.hints[*hint]) + "\n"
                                : "    " + tr("there is no hint left") + "\n");
    }
    const auto answer = parse_answer(loaded_.lesson, question, written);
    if (!answer) {
      (void)answers_.again(complaint_about(written, answer.error()));
      return;
    }
    switch (take_answer(pupil_, loaded_.lesson, loaded_.standings[number], *answer)) {
      case model::Verdict::right:
        return answers_.tell("    " + tr("That is right.") + "\n" + answer_text(loaded_, number) + "\n");
      case model::Verdict::again:
        return answers_.tell("    " + tr("That is not so. Once more.") + "\n");
      case model::Verdict::told:
        return answers_.tell("    " + tr("That is not so.") + "\n" + answer_text(loaded_, number) + "\n");
    }
  }

  const LoadedLesson& loaded_;
  AnswerFile& answers_;
  model::Pupil pupil_;
};

/// For a spreadsheet: the same in every language.
std::string csv_of(const model::Lesson& lesson, const model::Pupil& pupil) {
  const model::Speaking english{nullptr};
  return marks_csv(lesson, pupil);
}

int judge_answers(const CommandLine& line, const LoadedLesson& loaded) {
  AnswerFile answers = read_answer_file(line.text("answers"), line.json_wanted());
  const model::Pupil pupil = Judging{loaded, answers}.judged();
  if (line.has("csv")) write_file(line.text("csv"), csv_of(loaded.lesson, pupil));
  const std::size_t questions = loaded.lesson.questions.size();
  print_out(line.json_wanted() ? json_text(marks_json(pupil, questions)) + "\n"
                               : marks_text(loaded.lesson, pupil));
  return count_right(pupil) == questions ? exit_fine : exit_failed;
}

/// The sheets that were asked for, made before any of them is written.
void write_sheets(const CommandLine& line, const LoadedLesson& loaded, bool letter) {
  const bool pupils = line.has("sheet"), answers = line.has("answer-sheet");
  if (!pupils && !answers) return;
  const model::RunResult result = model::run(loaded.lesson.scenario);
  std::vector<std::string> contents;
  std::vector<OutputFile> files;
  contents.reserve(2);
  const auto add = [&](const std::string& path, bool with_answers) {
    contents.push_back(lesson_sheet(loaded, result, {path, with_answers, letter}));
    files.push_back({path, contents.back()});
  };
  if (pupils) add(line.text("sheet"), false);
  if (answers) add(line.text("answer-sheet"), true);
  write_files(files);
}

}  // namespace

int teach_command(Arguments arguments) {
  CommandLine line{"drybus teach LESSON [--answers FILE] [options]"};
  add_teach_options(line);
  line.take_words("LESSON", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  if (line.has("csv") && !line.has("answers"))
    throw Unusable{tr("--csv needs --answers: it tells how each question went")};
  const bool letter = letter_paper(line);
  const std::string& name = line.words()[0];
  const LoadedLesson loaded = load_lesson(name);
  write_sheets(line, loaded, letter);
  if (line.has("answers")) return judge_answers(line, loaded);
  print_out(line.json_wanted() ? json_text(lesson_json(loaded, name)) + "\n" : lesson_text(loaded, name));
  return exit_fine;
}

}  // namespace drybus::tools
