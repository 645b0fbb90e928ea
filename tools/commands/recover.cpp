// drybus recover: from where a run ends to where everything is in step again, in the least time.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>

#include "model/call/first_stage.h"
#include "model/record/describe.h"
#include "model/recovery/report.h"
#include "model/recovery/script.h"
#include "model/recovery/words.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/wrap.h"
#include "tools/commands/command.h"
#include "tools/commands/explanation_scenario.h"
#include "tools/commands/watched_diagnosis.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;
namespace fs = std::filesystem;

void add_recover_options(CommandLine& line) {
  line.offer_output("output,o",
                    msg("write what was done so far and the cure there, as a scenario that replays").data());
  line.add()("reserve", po::value<std::string>()->default_value("25"),
             msg("percent of each time-out to leave unused, 0 to 90").data());
  line.offer_json();
}

/// Everything that is told.
struct ToldCure {
  const std::string& name;
  const model::Scenario& scenario;
  const model::Cure& cure;
  std::vector<std::string> amiss;  ///< before the cure
  std::string output;
  std::vector<const model::RankedExplanation*>
      explanations{};                      ///< of a report: those that the cure works under
  double probability = 1;                  ///< of all of them together
  const model::Cure* otherwise = nullptr;  ///< of a report: should none of them be right
  std::vector<std::string> unexplained{};  ///< of a report: seen, and not explained by any of them
  /// Of a report: explanations that a look afterwards settles with less effort than a cure for them, too, would take.
  std::vector<const model::RankedExplanation*> for_later{};
  std::vector<std::string>
      standing{};  ///< of a scenario: findings that no step here ends, with what to do about them
  std::vector<std::string> on_the_way{};  ///< of a scenario: findings that are over and may still show
};

// --- as text ---

std::string list_text(std::string_view heading, const std::vector<std::string>& items) {
  if (items.empty()) return {};
  std::string text = fmt::format("{}\n", heading);
  for (const std::string& item : items) text += paragraph(item, told_width, "  - ", "    ");
  return text;
}

/// The whole caution the first time, and where it stands from then on.
std::string line_text(const std::vector<model::CureLine>& lines, std::size_t number) {
  const model::CureLine& line = lines[number - 1];
  std::string text = line.text;
  if (!line.shows.empty()) text += tr(" Now {}.", line.shows);
  if (!line.caution.empty()) {
    std::size_t first = 0;
    while (lines[first].caution != line.caution) ++first;
    text += first + 1 == number ? " " + line.caution : tr(" The caution of step {} holds.", first + 1);
  }
  return paragraph(text, told_width, fmt::format("{:>3}. ", number), "     ");
}

std::string likelihoods_text(const std::vector<const model::RankedExplanation*>& explanations) {
  std::string text;
  for (const model::RankedExplanation* each : explanations)
    text += paragraph(
        model::with_decimal_mark(fmt::format("{:>4.1f}", each->probability * 100)) + " %  " + each->text,
        told_width, "  ", "          ");
  return text;
}

std::string explanations_text(const ToldCure& told) {
  if (told.explanations.empty()) return {};
  std::string text = tr("What it works under:\n") + likelihoods_text(told.explanations);
  text += tr("Together {} %.\n", model::with_decimal_mark(fmt::format("{:.1f}", told.probability * 100)));
  if (!told.for_later.empty())
    text += tr("Left for the looks afterwards, as they are less work than to cure these as well:\n");
  text += likelihoods_text(told.for_later);
  return text + list_text(tr("Seen, and explained by none of them:"), told.unexplained);
}

std::string time_text(const model::Cure& cure) {
  const std::string takes = model::minutes_text(cure.time);
  const bool quickest = cure.shortest && !cure.opens;
  if (cure.repairs > 0)
    return quickest ? tr("It takes {}, besides the repair; no other way is quicker.\n", takes)
                    : tr("It takes {}, besides the repair.\n", takes);
  return quickest ? tr("It takes {}; no other way is quicker.\n", takes) : tr("It takes {}.\n", takes);
}

std::string steps_text(const model::Cure& cure) {
  std::string text;
  for (std::size_t i = 0; i < cure.lines.size(); ++i) text += line_text(cure.lines, i + 1);
  return text + time_text(cure);
}

std::string otherwise_text(const ToldCure& told) {
  if (told.otherwise == nullptr || told.otherwise->end != model::Cure::End::found) return {};
  return paragraph(
             tr("Then try every plate, on and off, and the local button of every module. Should anything be "
                "amiss, none of these explanations was right. In that case start afresh, whatever it is:"),
             told_width, "", "") +
         steps_text(*told.otherwise);
}

std::string cure_text(const ToldCure& told) {
  const model::Cure& cure = told.cure;
  std::string text = list_text(tr("What changes:"), cure.aim.changes);
  if (cure.repairs > 0)
    text += paragraph(
        tr("Buttons alone do not cure this: something has to be repaired first, by a competent person."),
        told_width, "", "");
  text += explanations_text(told);
  text += tr("To do:\n") + steps_text(cure);
  if (!told.explanations.empty())
    return text +
           tr("It was tried under each of them: every module holds its address then, nobody is in setup, and "
              "nothing is "
              "out of step.\n") +
           otherwise_text(told);
  return text +
         tr("It was tried: every module holds its address then, nobody is in setup, and nothing is out of "
            "step.\n");
}

std::string nothing_to_do_text(const ToldCure& told) {
  const std::string intended = list_text(tr("Not as it was intended:"), told.cure.aim.changes);
  const std::string on_the_way =
      list_text(tr("Found on the way, with what helps where it still shows:"), told.on_the_way);
  if (!told.standing.empty())
    return tr("Every address is held, and nobody is in setup: nothing to put right there.\n") + intended +
           list_text(tr("But this was found, and no address cures it:"), told.standing) + on_the_way;
  return intended + explanations_text(told) + tr("Nothing to do: nothing is out of step.\n") + on_the_way +
         otherwise_text(told);
}

std::string as_text(const ToldCure& told) {
  std::string text = fmt::format("{}\n", told.scenario.title.empty() ? told.name : told.scenario.title);
  switch (told.cure.end) {
    case model::Cure::End::nothing_to_do:
      return text + nothing_to_do_text(told);
    case model::Cure::End::found:
      return text + list_text(tr("Out of step:"), told.amiss) + cure_text(told);
    case model::Cure::End::no_cure:
      break;
  }
  return text + list_text(tr("Out of step:"), told.amiss) + explanations_text(told) +
         list_text(tr("No cure by these means:"), told.cure.reasons) + otherwise_text(told);
}

// --- as JSON ---

std::string_view end_word(model::Cure::End end) {
  switch (end) {
    case model::Cure::End::nothing_to_do:
      return "nothing-to-do";
    case model::Cure::End::found:
      return "cured";
    case model::Cure::End::no_cure:
      return "no-cure";
  }
  return "";
}

json::array steps_json(const model::Cure& cure) {
  json::array steps;
  for (std::size_t i = 0; i < cure.lines.size(); ++i) {
    const model::CureLine& line = cure.lines[i];
    const auto optional = [](const std::string& text) {
      return text.empty() ? json::value(nullptr) : json::value(text);
    };
    steps.push_back({{"number", i + 1},
                     {"text", line.text},
                     {"shows", optional(line.shows)},
                     {"caution", optional(line.caution)}});
  }
  return steps;
}

/// What to do should no explanation be right; null where there is no such thing.
json::value otherwise_json(const model::Cure* otherwise) {
  if (otherwise == nullptr || otherwise->end != model::Cure::End::found) return nullptr;
  return json::object{{"steps", steps_json(*otherwise)},
                      {"minutes", sim::seconds(otherwise->time) / 60},
                      {"repairs", otherwise->repairs}};
}

json::array explanations_json(const std::vector<const model::RankedExplanation*>& explanations) {
  json::array array;
  for (const model::RankedExplanation* each : explanations)
    array.push_back({{"probability", each->probability}, {"text", each->text}});
  return array;
}

std::string as_json(const ToldCure& told) {
  const model::Cure& cure = told.cure;
  json::object object{{"scenario", told.name}, {"outcome", std::string{end_word(cure.end)}}};
  object["amiss"] = texts(told.amiss);
  object["changes"] = texts(cure.aim.changes);
  object["reasons"] = texts(cure.reasons);
  object["time_s"] = sim::seconds(cure.time);
  object["minutes"] = sim::seconds(cure.time) / 60;
  object["repairs"] = cure.repairs;
  object["shortest"] = cure.shortest && !cure.opens;
  object["steps"] = steps_json(cure);
  object["explanations"] = explanations_json(told.explanations);
  object["for_later"] = explanations_json(told.for_later);
  object["unexplained"] = texts(told.unexplained);
  object["standing"] = texts(told.standing);
  object["on_the_way"] = texts(told.on_the_way);
  object["probability"] = told.probability;
  object["otherwise"] = otherwise_json(told.otherwise);
  object["output"] =
      told.output.empty() || told.output == "-" ? json::value(nullptr) : json::value(told.output);
  return json_text(object) + "\n";
}

// --- the scenario ---

void write_cured(const LoadedScenario& loaded, const model::CuredScenario& cured, const std::string& output) {
  LoadedScenario written = loaded;
  written.scenario = cured.scenario;
  written.scenario.title = fmt::format("{}, and put right", loaded.scenario.title);
  WriteOptions options;
  if (output != "-") options.folder = fs::absolute(output).parent_path();
  write_file(output, write_scenario(written, options));
}

model::RecoverOptions recover_options(const CommandLine& line) {
  model::RecoverOptions options;
  options.reserve_percent = static_cast<unsigned>(line.number("reserve", 0, 90, "percent"));
  return options;
}

/// Findings with their remedies.
template <class Suits>
std::vector<std::string> findings_told(const std::vector<model::Finding>& findings, Suits suits) {
  std::vector<std::string> all;
  for (const model::Finding& each : findings) {
    if (suits(each))
      all.push_back(fmt::format("{}: {} {}", model::to_string(each.id), each.text, each.remedy));
  }
  return all;
}

/// A telegram lost or not understood, a load that the power lit, blips that slept: over at once, and what came of it may still
/// show.
bool may_still_show(const model::Finding& finding) {
  using Id = model::FindingId;
  return finding.until && (finding.id == Id::not_understood || finding.id == Id::telegram_lost ||
                           finding.id == Id::powers_up_lit || finding.id == Id::blip_asleep);
}

int recover_scenario(const CommandLine& line, const LoadedScenario& loaded) {
  const std::string& name = line.words()[0];
  const std::string output = line.optional_text("output").value_or("");
  model::RunOptions once;
  once.plain = true;
  const model::RunResult before = model::run(loaded.scenario, once);
  refuse_used_up(name, loaded.scenario, before);
  if (before.unfinished)
    throw Unusable{
        tr("{}: the script is not over after {}", name, model::duration_text(model::default_run_bound))};
  const model::Possibility possibility{&loaded.scenario, before.world, 1};
  model::Cure cure = model::recover(loaded.scenario, std::span{&possibility, 1}, recover_options(line));
  if (cure.end != model::Cure::End::no_cure) {
    const model::CuredScenario cured = model::cured_scenario(loaded.scenario, cure, before.world.now);
    if (!cured.proves()) throw std::logic_error{"the cure does not hold once it is put into the scenario"};
    if (cured.dropped_checks > 0)
      print_err(tr("checks that fail before the cure are left out of its scenario\n"));
    if (!output.empty()) write_cured(loaded, cured, output);
  } else if (!output.empty()) {
    print_err(tr("there is no cure to write\n"));
  }
  ToldCure told{
      name, loaded.scenario, cure, model::amiss(loaded.scenario, cure.aim, before.world), output, {}, 1};
  if (cure.end == model::Cure::End::nothing_to_do) {
    const std::vector<model::Finding> findings = model::run(loaded.scenario).findings;
    told.standing = findings_told(findings, [](const model::Finding& each) { return !each.until; });
    told.on_the_way = findings_told(findings, may_still_show);
  }
  const std::string text = line.json_wanted() ? as_json(told) : as_text(told);
  output == "-" && cure.end != model::Cure::End::no_cure ? print_err(text) : print_out(text);
  return cure.end == model::Cure::End::no_cure ? exit_failed : exit_fine;
}

/// Everything that is amiss under some explanation, each once.
std::vector<std::string> amiss_under(const model::Report& report, const model::Cure& cure,
                                     const std::vector<const model::RankedExplanation*>& explanations) {
  std::vector<std::string> all;
  for (const model::RankedExplanation* each : explanations) {
    const model::Account& account = each->ways.front();
    for (std::string& text : model::amiss(scenario_of(report, account), cure.aim, *account.world)) {
      if (std::find(all.begin(), all.end(), text) == all.end()) all.push_back(std::move(text));
    }
  }
  return all;
}

/// The likeliest explanation as a scenario, and the cure after it.
void write_cured_report(const LoadedReport& loaded, const model::RankedExplanation& likeliest,
                        const model::Cure& cure, const std::string& output) {
  const LoadedScenario scenario = explanation_scenario(loaded, likeliest, 1);
  const model::RunResult before = model::run(scenario.scenario);
  const model::CuredScenario cured = model::cured_scenario(scenario.scenario, cure, before.world.now);
  if (!cured.proves())
    throw std::logic_error{"the cure does not hold once it is put into the likeliest explanation"};
  write_cured(scenario, cured, output);
}

/// Explanations that count and that the first cure leaves out.
std::vector<const model::RankedExplanation*> left_for_later(const model::Diagnosis& diagnosis,
                                                            const model::Diagnosis& stage,
                                                            double least_probability) {
  std::vector<const model::RankedExplanation*> left;
  for (std::size_t i = 0; i < diagnosis.explanations.size(); ++i) {
    if (!stage.explanations[i].ways.empty() || diagnosis.explanations[i].probability < least_probability)
      continue;
    left.push_back(&diagnosis.explanations[i]);
  }
  return left;
}

int recover_report(const CommandLine& line) {
  const std::string& name = line.words()[0];
  const std::string output = line.optional_text("output").value_or("");
  model::ReportRecoverOptions options;
  options.recover.reserve_percent = recover_options(line).reserve_percent;
  const LoadedReport loaded = load_report(name);
  const model::Diagnosis diagnosis = diagnose_watched(loaded.report, load_catalogue(name));
  const model::Diagnosis stage = first_stage(loaded.report, diagnosis);
  const model::ReportCure found = model::recover(loaded.report, stage, options);
  ToldCure told{name, loaded.told.scenario, found.cure, {}, output, {}, found.probability};
  for (const std::uint32_t index : found.explanations)
    told.explanations.push_back(&stage.explanations[index]);
  told.for_later = left_for_later(diagnosis, stage, options.least_probability);
  told.amiss = amiss_under(loaded.report, found.cure, told.explanations);
  told.otherwise = &found.otherwise;
  for (const std::uint32_t seen : found.unexplained)
    told.unexplained.push_back(describe(loaded.report.believed.site, loaded.report.seen[seen]));
  const bool cures = found.cure.end != model::Cure::End::no_cure;
  if (cures && !output.empty()) write_cured_report(loaded, *told.explanations.front(), found.cure, output);
  const std::string text = line.json_wanted() ? as_json(told) : as_text(told);
  output == "-" && cures ? print_err(text) : print_out(text);
  return cures ? exit_fine : exit_failed;
}

}  // namespace

int recover_command(Arguments arguments) {
  CommandLine line{"drybus recover SCENARIO|REPORT [-o FILE] [options]"};
  add_recover_options(line);
  line.take_words("SCENARIO|REPORT", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  if (begins_report(line.words()[0])) return recover_report(line);
  return recover_scenario(line, load_scenario(line.words()[0]));
}

}  // namespace drybus::tools
