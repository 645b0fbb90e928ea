#include "tools/check_mutants.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <optional>

#include "model/describe.h"
#include "model/mutants.h"
#include "tools/check_suite.h"
#include "tools/command.h"
#include "tools/output.h"
#include "tools/parallel.h"

namespace drybus::tools {

namespace {

namespace json = boost::json;

constexpr std::size_t least_percent_killed = 95;

struct Fate {
  const model::Mutant* mutant = nullptr;
  std::optional<std::size_t> killer;           ///< index into the suite
  std::optional<model::MissingCheck> missing;  ///< of a survivor
};

std::vector<Fate> fates_of(const Suite& suite, std::size_t jobs) {
  std::vector<const model::Scenario*> scenarios;
  for (const model::Scenario& scenario : suite.scenarios) scenarios.push_back(&scenario);
  const auto mutants = model::mutants();
  std::vector<Fate> fates(mutants.size());
  in_parallel(mutants.size(), jobs, [&](std::size_t i) {
    fates[i].mutant = &mutants[i];
    fates[i].killer = killer_of(mutants[i], scenarios);
    if (!fates[i].killer) fates[i].missing = missing_check(mutants[i], scenarios);
  });
  return fates;
}

/// "expect M1.level is 40 % at 0:12.0, before press P1 off (scenes.yaml:18)".
std::string missing_text(const Suite& suite, const model::MissingCheck& missing) {
  const model::Scenario& scenario = suite.scenarios[missing.scenario];
  const auto& script = scenario.people.front().script;
  const std::string where =
      missing.before.step < script.size()
          ? fmt::format("before {} ({}:{})", describe(scenario, script[missing.before.step]),
                        suite.paths[missing.scenario], script[missing.before.step].mark.line)
          : fmt::format("at the end of {}", suite.paths[missing.scenario]);
  return fmt::format("would be noticed by: expect {} at {}, {}; the mutant: {}",
                     describe(scenario, missing.check), model::clock_text(missing.at), where, missing.actual);
}

std::string why_unnoticed(const Suite& suite, const Fate& fate) {
  if (!fate.mutant->unseen.empty()) return std::string{fate.mutant->unseen};
  return fate.missing ? missing_text(suite, *fate.missing)
                      : "no fact of any device differs in these scenarios";
}

std::size_t killed_of(const std::vector<Fate>& fates) {
  return static_cast<std::size_t>(
      std::count_if(fates.begin(), fates.end(), [](const Fate& fate) { return fate.killer.has_value(); }));
}

std::string as_text(const Suite& suite, const std::vector<Fate>& fates) {
  std::size_t widest = 0;
  for (const Fate& fate : fates) widest = std::max(widest, fate.mutant->what.size());
  std::string text;
  for (const Fate& fate : fates) {
    text += fmt::format("{} {:<{}}  {}\n",
                        fate.killer ? inked("killed  ", Ink::green) : inked("SURVIVED", Ink::red),
                        fate.mutant->what, widest, fate.killer ? suite.paths[*fate.killer] : "");
  }
  const std::size_t killed = killed_of(fates);
  text += fmt::format(
      "{} mutants, {} scenarios: {} killed ({:.1f} %), {} survived\n", fates.size(), suite.scenarios.size(),
      killed, 100.0 * static_cast<double>(killed) / static_cast<double>(fates.size()), fates.size() - killed);
  for (const Fate& fate : fates) {
    if (!fate.killer) text += fmt::format("  {}\n      {}\n", fate.mutant->what, why_unnoticed(suite, fate));
  }
  return text;
}

std::string as_json_text(const Suite& suite, const std::vector<Fate>& fates) {
  json::array all;
  for (const Fate& fate : fates) {
    json::object object{{"what", fate.mutant->what}, {"killed", fate.killer.has_value()}};
    object["by"] = fate.killer ? json::value(suite.paths[*fate.killer]) : json::value(nullptr);
    if (!fate.killer) object["why"] = why_unnoticed(suite, fate);
    all.push_back(std::move(object));
  }
  const json::object object{
      {"mutants", all}, {"killed", killed_of(fates)}, {"survived", fates.size() - killed_of(fates)}};
  return json::serialize(object) + "\n";
}

}  // namespace

int check_mutants(const std::vector<std::string>& paths, std::size_t jobs, bool as_json) {
  const Suite suite = load_suite(paths, jobs);
  const std::vector<Fate> fates = fates_of(suite, jobs);
  print_out(as_json ? as_json_text(suite, fates) : as_text(suite, fates));
  return killed_of(fates) * 100 < fates.size() * least_percent_killed ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
