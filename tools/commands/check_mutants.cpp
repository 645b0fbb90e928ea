#include "tools/commands/check_mutants.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>
#include <iterator>
#include <map>
#include <optional>
#include <span>

#include "model/record/describe.h"
#include "model/suite/mutant_hunt.h"
#include "model/suite/mutants.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/unusable.h"
#include "tools/commands/check_suite.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::plural;
using model::tr;

namespace {

namespace json = boost::json;

constexpr std::size_t least_percent_killed = 95;

struct Fate {
  const model::Mutant* mutant = nullptr;
  std::optional<std::size_t> killer;  ///< index into the suite
  bool no_difference = false;         ///< shown from the rows: nothing could notice it
  // Of a survivor:
  std::optional<model::MissingCheck> missing;
  model::MutantHunt hunt;
  model::MutantHuntOptions bounds;  ///< of it
  std::string scenario;             ///< the one that the hunt made, as YAML; empty when there is none
  std::string file;                 ///< and where it was written; empty when nowhere
};

using Families = std::map<std::string, model::Family>;

/// Those that the scenarios have devices of, by name.
Families families_of(const Suite& suite) {
  Families all;
  for (const LoadedScenario& loaded : suite.scenarios) {
    const model::Site& site = loaded.scenario.site;
    for (model::DeviceId device = 0; device < site.device_count(); ++device) {
      const model::Family& family = site.family_of(device);
      all.try_emplace(family.name, family);
    }
  }
  return all;
}

/// In English: files are named after them.
std::vector<model::Mutant> mutants_of(const Families& families) {
  const model::Speaking english{nullptr};
  std::vector<model::Mutant> all;
  for (const auto& [name, family] : families) {
    auto of_family = model::mutants_of(family);
    std::move(of_family.begin(), of_family.end(), std::back_inserter(all));
  }
  return all;
}

bool makes_no_difference(const Families& families, const model::Mutant& mutant) {
  if (!mutant.rows_of) return false;
  const model::Family& family = families.at(mutant.family);
  model::Family altered = family;
  mutant.alter(altered);
  return do_the_same(family, altered, *mutant.rows_of);
}

std::vector<Fate> fates_of(const Suite& suite, const Families& families,
                           std::span<const model::Mutant> mutants, const MutantCheck& check) {
  std::vector<const model::Scenario*> scenarios;
  for (const LoadedScenario& loaded : suite.scenarios) scenarios.push_back(&loaded.scenario);
  std::vector<Fate> fates(mutants.size());
  in_parallel(mutants.size(), check.jobs, [&](std::size_t i) {
    const model::Speaking english{nullptr};  // what is found is written as a scenario
    fates[i].mutant = &mutants[i];
    fates[i].killer = killer_of(mutants[i], scenarios);
    if (fates[i].killer) return;
    fates[i].no_difference = makes_no_difference(families, mutants[i]);
    if (fates[i].no_difference) return;
    fates[i].missing = missing_check(mutants[i], scenarios);
    fates[i].bounds = model::hunt_options_for(check.states);
    fates[i].hunt = hunt_killer(mutants[i], scenarios, fates[i].bounds);
  });
  return fates;
}

/// "expect M1.level is 40 % at 0:12.0, before press P1 off (scenes.yaml:18)".
std::string missing_text(const Suite& suite, const model::MissingCheck& missing) {
  const model::Scenario& scenario = suite.scenario(missing.scenario);
  const auto& script = scenario.people.front().script;
  const std::string where = missing.before.step < script.size()
                                ? tr("before {} ({}:{})", describe(scenario, script[missing.before.step]),
                                     suite.paths[missing.scenario], script[missing.before.step].mark.line)
                                : tr("at the end of {}", suite.paths[missing.scenario]);
  return tr("would be noticed by: expect {} at {}, {}; the mutant: {}", describe(scenario, missing.check),
            model::clock_text(missing.at), where, missing.actual);
}

std::string why_unnoticed(const Suite& suite, const Fate& fate) {
  return fate.missing ? missing_text(suite, *fate.missing)
                      : tr("no fact of any device differs in these scenarios");
}

/// "3 moves from the start on the site of wired.yaml: hold P1 set for 3 s; ...; then expect M1.mode is
/// setup".
std::string killer_text(const Suite& suite, const model::Killer& killer) {
  const model::Scenario& scenario = killer.scenario;
  std::vector<std::string> steps;
  for (const model::Step& step : killer.steps) steps.push_back(describe(scenario, step));
  const std::string& path = suite.paths[killer.from];
  const std::string from =
      killer.from_start ? tr("the start on the site of {}", path) : tr("the end of {}", path);
  const std::string moves = plural("{} move from {}", "{} moves from {}", steps.size(), steps.size(), from);
  const std::string joined = fmt::format("{}", fmt::join(steps, "; "));
  const std::string expected =
      tr("expect {} at {}; the mutant: {}", describe(scenario, scenario.checks.back()),
         model::clock_text(killer.difference.at), killer.difference.actual);
  if (steps.empty()) return tr("hunted: {}: {}", moves, expected);
  return tr("hunted: {}: {}; then {}", moves, joined, expected);
}

std::string bounds_text(const model::MutantHunt& hunt, const model::MutantHuntOptions& bounds) {
  if (hunt.starts == 0) return tr("hunted: no scenario here has both a plate and a module to hunt with");
  const std::string searched = tr("{} searches, {} pairs of worlds", hunt.starts, hunt.states);
  if (hunt.exhausted) {
    return tr("hunted: cannot be told apart by any sequence of moves, however long ({})", searched);
  }
  return tr(
      "hunted: cannot be told apart within the bounds: {} states of up to {} moves from the start of a small "
      "site, {} of up "
      "to {} with long presses, a slip, a power cut and a switch, {} of up to {} from each scenario's end "
      "({})",
      bounds.plain.states, bounds.plain.depth, bounds.with_faults.states, bounds.with_faults.depth,
      bounds.from_end.states, bounds.from_end.depth, searched);
}

std::string hunted_text(const Suite& suite, const Fate& fate) {
  std::string text =
      fate.hunt.killer ? killer_text(suite, *fate.hunt.killer) : bounds_text(fate.hunt, fate.bounds);
  if (!fate.file.empty()) text += fmt::format(" ({})", fate.file);
  return text;
}

// --- the scenarios that would have noticed ---

/// "wired, plate: a long press is a tick longer" -> "wired-plate-a-long-press-is-a-tick-longer.yaml"
std::string file_name(std::string_view what) {
  std::string name;
  for (const char c : what) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    if (plain) name += c;
    if (!plain && !name.empty() && name.back() != '-') name += '-';
  }
  return name + ".yaml";
}

void write_as_yaml(const Suite& suite, const std::filesystem::path& folder, Fate& fate) {
  const model::Killer& killer = *fate.hunt.killer;
  const model::Speaking english{nullptr};
  LoadedScenario written = suite.scenarios[killer.from];
  written.scenario = killer.scenario;
  WriteOptions options;
  options.folder = folder;
  fate.scenario = write_scenario(written, options);
}

/// Texts of all scenarios that were found; written to the folder, if one was asked for.
void write_killers(const Suite& suite, const std::optional<std::string>& folder, std::vector<Fate>& fates) {
  std::vector<OutputFile> files;
  for (Fate& fate : fates) {
    if (!fate.hunt.killer) continue;
    write_as_yaml(suite, std::filesystem::absolute(folder.value_or(".")), fate);
    if (!folder) continue;
    fate.file = (std::filesystem::path{*folder} / file_name(fate.mutant->what)).string();
    files.push_back({fate.file, fate.scenario});
  }
  if (!folder) return;
  std::error_code error;
  std::filesystem::create_directories(*folder, error);
  if (error) throw Unusable{fmt::format("--killers {}: {}", *folder, error.message())};
  write_files(files);
}

std::size_t killed_of(const std::vector<Fate>& fates) {
  return static_cast<std::size_t>(
      std::count_if(fates.begin(), fates.end(), [](const Fate& fate) { return fate.killer.has_value(); }));
}
std::size_t alike_of(const std::vector<Fate>& fates) {
  return static_cast<std::size_t>(
      std::count_if(fates.begin(), fates.end(), [](const Fate& fate) { return fate.no_difference; }));
}

std::string percent_text(std::size_t part, std::size_t whole) {
  const double percent = 100.0 * static_cast<double>(part) / static_cast<double>(whole);
  return model::with_decimal_mark(fmt::format("{:.1f}", percent));
}

std::string mark_of(const Fate& fate) {
  if (fate.killer) return inked(tr("killed  "), Ink::green);
  return fate.no_difference ? tr("the same") : inked(tr("SURVIVED"), Ink::red);
}

std::string as_text(const Suite& suite, const std::vector<Fate>& fates) {
  std::size_t widest = 0;
  for (const Fate& fate : fates) widest = std::max(widest, fate.mutant->what.size());
  std::string text;
  for (const Fate& fate : fates) {
    text += fmt::format("{} {:<{}}  {}\n", mark_of(fate), fate.mutant->what, widest,
                        fate.killer ? suite.paths[*fate.killer] : "");
  }
  const std::size_t killed = killed_of(fates);
  text += tr("{} mutants, {} scenarios: {} killed ({} %), {} make no difference, {} survived\n", fates.size(),
             suite.scenarios.size(), killed, percent_text(killed, fates.size()), alike_of(fates),
             fates.size() - killed - alike_of(fates));
  for (const Fate& fate : fates) {
    if (fate.killer || fate.no_difference) continue;
    text += fmt::format("  {}\n      {}\n      {}\n", fate.mutant->what, why_unnoticed(suite, fate),
                        hunted_text(suite, fate));
  }
  return text;
}

json::object hunt_object(const Suite& suite, const Fate& fate) {
  const model::MutantHunt& hunt = fate.hunt;
  json::object object{{"found", hunt.killer.has_value()},
                      {"text", hunted_text(suite, fate)},
                      {"starts", hunt.starts},
                      {"states", hunt.states},
                      {"exhausted", !hunt.killer && hunt.exhausted}};
  object["scenario"] = hunt.killer ? json::value(fate.scenario) : json::value(nullptr);
  object["file"] = fate.file.empty() ? json::value(nullptr) : json::value(fate.file);
  return object;
}

std::string as_json_text(const Suite& suite, const std::vector<Fate>& fates) {
  json::array all;
  json::array alike;
  for (const Fate& fate : fates) {
    if (fate.no_difference) {  // no mutant at all: nothing is wrong
      alike.emplace_back(fate.mutant->what);
      continue;
    }
    json::object object{{"what", fate.mutant->what}, {"killed", fate.killer.has_value()}};
    object["by"] = fate.killer ? json::value(suite.paths[*fate.killer]) : json::value(nullptr);
    if (!fate.killer) {
      object["why"] = why_unnoticed(suite, fate);
      object["hunt"] = hunt_object(suite, fate);
    }
    all.push_back(std::move(object));
  }
  const json::object object{{"mutants", all},
                            {"killed", killed_of(fates)},
                            {"no_difference", alike},
                            {"survived", fates.size() - killed_of(fates) - alike_of(fates)}};
  return json_text(object) + "\n";
}

}  // namespace

int check_mutants(const MutantCheck& check) {
  const Suite suite = load_suite(check.paths, check.jobs);
  const Families families = families_of(suite);
  const std::vector<model::Mutant> mutants = mutants_of(families);
  std::vector<Fate> fates = fates_of(suite, families, mutants, check);
  write_killers(suite, check.killers, fates);
  print_out(check.as_json ? as_json_text(suite, fates) : as_text(suite, fates));
  return (killed_of(fates) + alike_of(fates)) * 100 < fates.size() * least_percent_killed ? exit_failed
                                                                                          : exit_fine;
}

}  // namespace drybus::tools
