// drybus check: every scenario below some paths, in parallel, a line each.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <filesystem>
#include <optional>
#include <thread>

#include "model/describe.h"
#include "model/run.h"
#include "tools/check_coverage.h"
#include "tools/check_digests.h"
#include "tools/check_mutants.h"
#include "tools/command.h"
#include "tools/command_line.h"
#include "tools/export/junit.h"
#include "tools/load.h"
#include "tools/output.h"
#include "tools/parallel.h"
#include "tools/scenario_files.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;
namespace json = boost::json;

/// What became of one scenario.
struct Outcome {
  std::string path;
  std::string aborted;  ///< why it could not be run; empty when it was
  std::vector<std::string> failures;
  std::size_t checks = 0;
  std::uint64_t seed = 0;
  sim::Instant ended{};
  StoredRun run;

  [[nodiscard]] bool passed() const { return aborted.empty() && failures.empty(); }
  [[nodiscard]] std::string replay() const { return fmt::format("drybus run {} --seed {}", path, seed); }
};

void run_twice(const model::Scenario& scenario, const model::RunOptions& options, Outcome& outcome) {
  const std::string again = model::run(scenario, options).digest.hex();
  if (again != outcome.run.digest) {
    outcome.failures.push_back(fmt::format("two runs differ: digests {} and {}", outcome.run.digest, again));
  }
}

void judge(const model::Scenario& scenario, const model::RunOptions& options, bool twice, Outcome& outcome) {
  const model::RunResult result = model::run(scenario, options);
  outcome.seed = options.seed.value_or(scenario.seed);
  outcome.checks = result.checks.size();
  outcome.ended = result.world.now;
  outcome.run = stored_run(result);
  for (const model::CheckResult& check : result.checks) {
    if (check.passed) continue;
    const model::Check& wanted = scenario.checks[check.check];
    outcome.failures.push_back(fmt::format("{}:{}:{}: {}; in fact {} at {}", scenario.files[wanted.mark.file],
                                           wanted.mark.line, wanted.mark.column, describe(scenario, wanted),
                                           check.actual, model::clock_text(check.at)));
  }
  if (result.unfinished) {
    outcome.aborted = fmt::format("the script is not over after {}", model::duration_text(options.until));
  }
  if (twice) run_twice(scenario, options, outcome);
}

Outcome check_one(const std::string& path, const model::RunOptions& options, bool twice) {
  Outcome outcome;
  outcome.path = path;
  try {
    judge(load_scenario(path).scenario, options, twice, outcome);
  } catch (const std::exception& error) {
    outcome.aborted = error.what();
  }
  return outcome;
}

/// A digest that moved, and a scenario that has none stored, fail.
void compare_with_stored(const StoredRuns& stored, std::vector<Outcome>& outcomes) {
  for (Outcome& outcome : outcomes) {
    if (!outcome.aborted.empty()) continue;
    const auto before = stored.find(outcome.path);
    if (before == stored.end()) {
      outcome.failures.push_back("no digest is stored for it: --accept stores it");
    } else if (const std::string moved = what_moved(before->second, outcome.run); !moved.empty()) {
      outcome.failures.push_back(fmt::format("not as stored: {}", moved));
    }
  }
}

/// Scenarios that were not run now keep what is stored of them, unless their file is gone.
void accept(const std::filesystem::path& path, const std::vector<Outcome>& outcomes) {
  const StoredRuns before = std::filesystem::exists(path) ? read_stored_runs(path) : StoredRuns{};
  StoredRuns now = before;
  std::erase_if(now, [](const auto& entry) { return !std::filesystem::exists(entry.first); });
  for (const Outcome& outcome : outcomes) {
    if (outcome.aborted.empty()) now[outcome.path] = outcome.run;
  }
  const std::string moved = all_that_moved(before, now);
  write_file(path, stored_runs_text(now));
  print_err(moved.empty() ? "nothing moved\n" : moved);
}

std::string line_of(const Outcome& outcome) {
  if (!outcome.aborted.empty()) {
    return fmt::format("{} {}\n{}\n", inked("ERROR", Ink::red), outcome.path, outcome.aborted);
  }
  std::string text =
      fmt::format("{} {}  {} check{}, {} finding{}, {}\n",
                  outcome.passed() ? inked("pass ", Ink::green) : inked("FAIL ", Ink::red), outcome.path,
                  outcome.checks, outcome.checks == 1 ? "" : "s", outcome.run.findings.size(),
                  outcome.run.findings.size() == 1 ? "" : "s", model::clock_text(outcome.ended));
  for (const std::string& failure : outcome.failures) text += "      " + failure + "\n";
  if (!outcome.passed()) text += "      replay: " + outcome.replay() + "\n";
  return text;
}

struct Totals {
  std::size_t passed = 0, failed = 0, aborted = 0;
};

Totals totals_of(const std::vector<Outcome>& outcomes) {
  Totals totals;
  for (const Outcome& outcome : outcomes) {
    ++(outcome.passed() ? totals.passed : outcome.aborted.empty() ? totals.failed : totals.aborted);
  }
  return totals;
}

std::string as_text(const std::vector<Outcome>& outcomes, const Totals& totals) {
  std::string text;
  for (const Outcome& outcome : outcomes) text += line_of(outcome);
  return text + fmt::format("{} scenario{}: {} passed, {} failed, {} could not be run\n", outcomes.size(),
                            outcomes.size() == 1 ? "" : "s", totals.passed, totals.failed, totals.aborted);
}

std::string as_json(const std::vector<Outcome>& outcomes, const Totals& totals) {
  json::array all;
  for (const Outcome& outcome : outcomes) {
    all.push_back({{"scenario", outcome.path},
                   {"passed", outcome.passed()},
                   {"aborted", outcome.aborted.empty() ? json::value(nullptr) : json::value(outcome.aborted)},
                   {"failures", json::value_from(outcome.failures)},
                   {"checks", outcome.checks},
                   {"findings", outcome.run.findings.size()},
                   {"digest", outcome.run.digest},
                   {"replay", outcome.replay()}});
  }
  const json::object object{
      {"scenarios", all}, {"passed", totals.passed}, {"failed", totals.failed}, {"aborted", totals.aborted}};
  return json::serialize(object) + "\n";
}

std::string as_junit(const std::vector<Outcome>& outcomes) {
  std::vector<JunitCase> cases;
  for (const Outcome& outcome : outcomes) {
    JunitCase each{outcome.path, sim::seconds(outcome.ended), {}, outcome.aborted};
    for (const std::string& failure : outcome.failures) each.failure += failure + "\n";
    if (!each.failure.empty()) each.failure += "replay: " + outcome.replay();
    cases.push_back(std::move(each));
  }
  return junit_xml("drybus check", cases);
}

}  // namespace

int check_command(Arguments arguments) {
  CommandLine line{"drybus check PATH... [options]"};
  line.offer_json();
  line.add()("junit", po::value<std::string>(), "write the results there as JUnit XML");
  line.add()("twice", "run each scenario twice and compare the digests");
  line.add()("seed", po::value<std::string>(), "instead of the scenarios' own");
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             "threads; 0: as many as there are cores");
  line.add()("until", po::value<std::string>(), "give up on a scenario after this time on its clock");
  line.add()("digests", po::value<std::string>(), "compare the digests with those stored there");
  line.add()("accept", "with --digests: store those of now, and tell what moved");
  line.add()("coverage", "instead: what of the devices' state diagrams the scenarios visit");
  line.add()("mutants", "instead: whether the scenarios notice wrong device logic");
  line.take_words("PATH", 1, 0);
  if (!line.parse(arguments)) return exit_fine;

  model::RunOptions options;
  if (line.has("seed")) options.seed = line.number("seed");
  if (line.has("until")) options.until = line.duration("until");
  const bool wants_json = line.json_wanted();

  const std::vector<std::string> paths = scenario_files(line.words());
  if (paths.empty()) throw Unusable{fmt::format("{}: no scenario below it", line.words()[0])};
  if (line.has("accept") && !line.has("digests")) throw Unusable{"--accept: of which --digests FILE?"};
  if (line.has("mutants") && line.has("coverage")) throw Unusable{"--mutants and --coverage: one at a time"};
  if (line.has("coverage")) return check_coverage(paths, line.number("jobs"), wants_json);
  if (line.has("mutants")) return check_mutants(paths, line.number("jobs"), wants_json);
  std::vector<Outcome> outcomes(paths.size());
  in_parallel(paths.size(), line.number("jobs"),
              [&](std::size_t i) { outcomes[i] = check_one(paths[i], options, line.has("twice")); });

  const auto digests = line.optional_text("digests");
  if (digests && line.has("accept")) {
    accept(*digests, outcomes);
  } else if (digests) {
    compare_with_stored(read_stored_runs(*digests), outcomes);
  }
  const Totals totals = totals_of(outcomes);
  if (const auto junit = line.optional_text("junit")) write_file(*junit, as_junit(outcomes));
  print_out(wants_json ? as_json(outcomes, totals) : as_text(outcomes, totals));
  if (totals.aborted != 0) return exit_unusable;
  return totals.failed != 0 ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
