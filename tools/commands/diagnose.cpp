// drybus diagnose: from what was told and seen to the cause and the next best check.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <filesystem>
#include <iostream>

#include "model/diagnosis/diagnosis.h"
#include "model/diagnosis/next_check.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/command.h"
#include "tools/commands/diagnose_answers.h"
#include "tools/commands/diagnose_dialogue.h"
#include "tools/commands/explanation_scenario.h"
#include "tools/commands/watched_diagnosis.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"
#include "tools/script/writer.h"
#include "tools/view/diagnosis_view.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace fs = std::filesystem;
namespace json = boost::json;

void add_diagnose_options(CommandLine& line) {
  line.add()("scenarios", po::value<std::string>(),
             msg("write each explanation into this folder, as a scenario that replays").data());
  line.add()("ask", msg("ask for checks, one after another, until one explanation has 95 %").data());
  line.add()("answers", po::value<std::string>(),
             msg("take the answers from this file, a line each (a number, 0, ? or the text)").data());
  line.add()("capture", po::value<std::string>(),
             msg("a capture of the bus: pcapng, or a record as JSON Lines").data());
  line.add()("capture-in-part", msg("the capture is of a part of what was told").data());
  line.add()("catalogue", po::value<std::string>(), msg("another catalogue of slips and faults").data());
  line.add()("top", po::value<std::string>()->default_value("5"), msg("explanations to tell in full").data());
  line.offer_json();
}

/// Somebody at the terminal.
class AtTerminal final : public Respondent {
 public:
  [[nodiscard]] std::optional<std::string> answer(const std::string& question) override {
    print_out(question + "> ");
    std::string line;
    if (!std::getline(std::cin, line)) return std::nullopt;
    return line;
  }
  [[nodiscard]] bool again(const std::string& complaint) override {
    print_out(complaint + "\n");
    return true;
  }
  void tell(const std::string& text) override { print_out(text); }
};

std::vector<AskedCheck> dialogue(const CommandLine& line, const model::Report& report,
                                 const model::Catalogue& catalogue, model::Diagnosis& diagnosis) {
  if (line.has("answers")) {
    AnswerFile file = read_answer_file(line.text("answers"), line.json_wanted());
    return ask(report, catalogue, diagnosis, file);
  }
  if (!line.has("ask")) return {};
  if (line.json_wanted())
    throw Unusable{tr("--ask with --format json needs --answers: there is nobody to ask")};
  AtTerminal terminal;
  return ask(report, catalogue, diagnosis, terminal);
}

/// Of an earlier call, with more explanations: whoever checks the folder would take them for this one's.
void tell_stale(const fs::path& folder, std::size_t written) {
  std::error_code error;
  std::vector<std::string> stale;
  for (std::size_t number = written + 1; number <= model::DiagnosisBounds{}.most_explanations; ++number) {
    std::string name = fmt::format("explanation-{}.yaml", number);
    if (fs::exists(folder / name, error)) stale.push_back(std::move(name));
  }
  if (!stale.empty())
    print_err(tr("{}: of an earlier call, and no explanation of this one: {}", folder.string(),
                 fmt::format("{}", fmt::join(stale, ", "))) +
              "\n");
}

std::size_t write_scenarios(const fs::path& folder, const LoadedReport& loaded,
                            const model::Diagnosis& diagnosis) {
  // Files are written as the texts are, whatever is spoken.
  const model::Speaking as_written{nullptr};
  std::error_code error;
  fs::create_directories(folder, error);
  if (error) throw Unusable{fmt::format("{}: {}", folder.string(), error.message())};
  std::vector<std::pair<fs::path, std::string>> contents;
  for (std::size_t i = 0; i < diagnosis.explanations.size(); ++i) {
    const LoadedScenario scenario = explanation_scenario(loaded, diagnosis.explanations[i], i + 1);
    contents.emplace_back(folder / fmt::format("explanation-{}.yaml", i + 1),
                          write_scenario(scenario, {fs::absolute(folder), {}}));
  }
  std::vector<OutputFile> files;
  files.reserve(contents.size());
  for (const auto& [path, content] : contents) files.push_back({path, content});
  write_files(files);
  return files.size();
}

json::array dialogue_json(const std::vector<AskedCheck>& asked) {
  json::array list;
  for (const AskedCheck& each : asked) {
    list.push_back({{"check", each.check.text},
                    {"minutes", each.check.minutes},
                    {"outcome", each.outcome.empty() ? json::value{nullptr} : json::value{each.outcome}}});
  }
  return list;
}

}  // namespace

int diagnose_command(Arguments arguments) {
  CommandLine line{"drybus diagnose REPORT [options]"};
  add_diagnose_options(line);
  line.take_words("REPORT", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  const bool wants_json = line.json_wanted();
  const std::uint64_t top = line.number("top");

  const std::string& name = line.words()[0];
  const LoadedReport loaded = load_report(name, line.optional_text("capture"), line.has("capture-in-part"));
  const model::Catalogue catalogue = load_catalogue(name, line.optional_text("catalogue"));
  model::Diagnosis diagnosis = diagnose_watched(loaded.report, catalogue);
  const std::vector<AskedCheck> asked = dialogue(line, loaded.report, catalogue, diagnosis);
  model::find_alike(loaded.report, diagnosis);
  if (line.has("scenarios")) {
    const fs::path folder = line.text("scenarios");
    tell_stale(folder, write_scenarios(folder, loaded, diagnosis));
  }

  const auto next = model::next_check(loaded.report, diagnosis);
  const DiagnosisView view{loaded.report, diagnosis, next, static_cast<std::size_t>(top)};
  if (wants_json) {
    json::object object = diagnosis_json(view);
    object["report"] = name;
    if (line.has("answers")) object["dialogue"] = dialogue_json(asked);
    print_out(json_text(object) + "\n");
  } else {
    print_out((asked.empty() ? "" : "\n") + diagnosis_text(view));
  }
  return exit_fine;
}

}  // namespace drybus::tools
