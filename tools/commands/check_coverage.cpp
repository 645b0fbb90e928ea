#include "tools/commands/check_coverage.h"

#include <fmt/format.h>

#include <boost/json.hpp>

#include "model/family/machine_words.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/unusable.h"
#include "tools/commands/check_suite.h"

namespace drybus::tools {

using model::plural;
using model::tr;
using model::tr_as;

namespace {

namespace json = boost::json;
using model::MachineVisits;

/// One thing that could be come through.
struct Visited {
  std::string_view of;  ///< "row", "state", "pattern", "time"
  std::string what;
  std::uint32_t line = 0;  ///< in the family's file; 0: in none
  std::uint64_t visits = 0;
};

std::vector<Visited> all_of(const MachineVisits& visits) {
  const model::Machine& machine = visits.machine;
  std::vector<Visited> all;
  for (std::size_t i = 0; i < machine.rows.size(); ++i)
    all.push_back({"row", row_text(machine, machine.rows[i]), machine.rows[i].line, visits.rows[i]});
  for (std::size_t i = 0; i < machine.states.size(); ++i)
    all.push_back({"state", machine.states[i].name, machine.states[i].line, visits.states[i]});
  for (const model::Pattern pattern : sim::all_of<model::Pattern>()) {
    if (visits.can_show[pattern])
      all.push_back({"pattern", std::string{to_string(pattern)}, 0, visits.patterns[pattern]});
  }
  for (const model::Timer timer : sim::all_of<model::Timer>()) {
    if (visits.can_run[timer])
      all.push_back({"time", std::string{to_string(timer)}, 0, visits.timers[timer]});
  }
  return all;
}

// --- text ---

std::string spoken_kind(std::string_view of) {
  if (of == "state") return tr_as("of a machine", "state");
  return of == "pattern" ? tr_as("of a machine", "pattern") : tr_as("of a machine", "time");
}

std::string tally(const std::vector<Visited>& all, std::string_view of) {
  std::size_t there = 0;
  std::size_t visited = 0;
  for (const Visited& each : all) {
    if (each.of != of) continue;
    ++there;
    visited += each.visits != 0 ? 1U : 0U;
  }
  if (of == "row") return plural("{} of {} row", "{} of {} rows", there, visited, there);
  if (of == "state") return plural("{} of {} state", "{} of {} states", there, visited, there);
  if (of == "pattern") return plural("{} of {} pattern", "{} of {} patterns", there, visited, there);
  return plural("{} of {} time", "{} of {} times", there, visited, there);
}

std::string machine_text(const std::string& device, const MachineVisits& visits) {
  const std::vector<Visited> all = all_of(visits);
  std::string text = fmt::format("  {}: {}, {}, {}, {}\n", device, tally(all, "row"), tally(all, "state"),
                                 tally(all, "pattern"), tally(all, "time"));
  for (const Visited& each : all) {
    const std::string count = fmt::format("{:>7}", each.visits);
    text += fmt::format("  {} {}{}{}\n", each.visits == 0 ? inked("!!" + count, Ink::red) : "  " + count,
                        each.of == "row" ? "" : spoken_kind(each.of) + " ", each.what,
                        each.line == 0 ? "" : " " + tr("(line {})", each.line));
  }
  return text;
}

std::string as_text(const model::Coverage& coverage, std::size_t scenarios) {
  std::string text;
  for (const auto& [name, visits] : coverage.families())
    text += fmt::format("{}\n{}{}\n", name, machine_text(tr_as("device", "plate"), visits.plate),
                        machine_text(tr_as("device", "module"), visits.module));
  const std::size_t holes = coverage.holes();
  const std::string left_out =
      holes == 0 ? tr("nothing is left out") : tr("{} never come through, marked !!", holes);
  return text + tr("{} scenarios; {}\n", scenarios, left_out);
}

// --- JSON ---

json::array machine_json(const MachineVisits& visits) {
  json::array all;
  for (const Visited& each : all_of(visits)) {
    json::object object{{"of", each.of}, {"what", each.what}, {"visits", each.visits}};
    if (each.line != 0) object["line"] = each.line;
    all.push_back(std::move(object));
  }
  return all;
}

std::string as_json_text(const model::Coverage& coverage, std::size_t scenarios) {
  json::object families;
  for (const auto& [name, visits] : coverage.families())
    families[name] =
        json::object{{"plate", machine_json(visits.plate)}, {"module", machine_json(visits.module)}};
  const json::object object{{"families", families}, {"scenarios", scenarios}, {"holes", coverage.holes()}};
  return json_text(object) + "\n";
}

}  // namespace

model::Coverage coverage_of(const Suite& suite, std::size_t jobs) {
  std::vector<model::Coverage> parts(suite.scenarios.size());
  in_parallel(parts.size(), jobs, [&](std::size_t i) {
    parts[i].take_family(suite.scenario(i).site.family);
    for (const model::Family& other : suite.scenario(i).site.other_families) parts[i].take_family(other);
    model::RunOptions options;
    options.plain = true;
    options.logic = &parts[i];
    run(suite.scenario(i), options);
  });
  model::Coverage whole;
  for (const model::Coverage& part : parts) whole.add(part);
  return whole;
}

int check_coverage(const std::vector<std::string>& paths, std::size_t jobs, bool as_json) {
  const Suite suite = load_suite(paths, jobs);
  const model::Coverage coverage = coverage_of(suite, jobs);
  print_out(as_json ? as_json_text(coverage, suite.scenarios.size())
                    : as_text(coverage, suite.scenarios.size()));
  return coverage.holes() != 0 ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
