// drybus check: every scenario below some paths, in parallel, a line each.
#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>
#include <chrono>
#include <filesystem>
#include <optional>
#include <thread>

#include "model/record/describe.h"
#include "model/record/observables.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/reason.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/base/workforce.h"
#include "tools/commands/check_alike.h"
#include "tools/commands/check_coverage.h"
#include "tools/commands/check_digests.h"
#include "tools/commands/check_mutants.h"
#include "tools/commands/check_observables.h"
#include "tools/commands/command.h"
#include "tools/commands/protocol_runs.h"
#include "tools/export/junit.h"
#include "tools/export/who.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/options/budget.h"
#include "tools/options/command_line.h"
#include "tools/options/firmware_choice.h"
#include "tools/seat/children.h"
#include "tools/view/protocol_view.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::plural;
using model::tr;

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
  std::string observables;         ///< digest of what could be seen or heard
  std::vector<Seen> seen;          ///< all of that, where it is asked for
  std::vector<std::string> notes;  ///< what else is to be said, and fails nothing
  std::string replay;              ///< the command that runs it again
  double seconds = 0;              ///< that it took
  bool broke_off = false;

  [[nodiscard]] bool passed() const { return aborted.empty() && failures.empty(); }
};

/// Of two runs in which the same was seen and heard: the first entry that is another one, or whose memory is.
std::string unseen_difference(const model::Scenario& scenario, const model::RunResult& first,
                              const model::RunResult& second) {
  const auto& a = first.record.entries();
  const auto& b = second.record.entries();
  const auto [one, other] = std::mismatch(a.begin(), a.end(), b.begin(), b.end());
  const auto told = [&](const auto& entry, const auto& entries) {
    return entry == entries.end()
               ? tr("nothing")
               : tr("at {} '{}'", model::clock_text(entry->at), describe(scenario, *entry));
  };
  if (one != a.end() || other != b.end())
    return tr("nothing that can be seen or heard; {} the first time, {} the second", told(one, a),
              told(other, b));
  return tr("nothing that can be seen, heard or told; what some device remembers");
}

/// Runs it once more; where the two differ, what first.
void run_twice(const model::Scenario& scenario, const model::RunOptions& options,
               const model::RunResult& first, Outcome& outcome) {
  const model::RunResult second = model::run(scenario, options);
  const std::string again = second.digest.hex();
  if (again == outcome.run.digest) return;
  const auto found = differences(seen_in(scenario, first.record), seen_in(scenario, second.record));
  outcome.failures.push_back(
      tr("two runs differ: {} (digests {} and {})",
         found.empty() ? unseen_difference(scenario, first, second) : to_text(found.front()),
         outcome.run.digest, again));
  if (scenario.site.logic == nullptr) return;
  outcome.failures.push_back(
      tr("so the firmware goes by something that belongs to no run: memory that is neither its block nor its "
         "variables, a clock of the computer, or chance"));
}

/// How scenarios are checked.
struct CheckRequest {
  model::RunOptions options;
  FirmwareChoice firmware;
  bool twice = false;
  bool wants_seen = false;
};

/// The last things that a device whose firmware failed did and met, so that nobody has to run it again to see them.
std::vector<std::string> before_it(const model::Scenario& scenario, const model::RunResult& result) {
  constexpr std::size_t most = 6;
  std::vector<std::string> lines;
  const auto& entries = result.record.entries();
  for (auto entry = entries.rbegin(); entry != entries.rend() && lines.size() < most; ++entry) {
    if (who_is(model::what(*entry)) != Who::node || entry->who != result.broken_off->device) continue;
    lines.push_back(tr("before it: {} {}", model::clock_text(entry->at), describe(scenario, *entry)));
  }
  std::reverse(lines.begin(), lines.end());
  return lines;
}

void judge(const model::Scenario& scenario, const CheckRequest& request, Outcome& outcome) {
  const model::RunOptions& options = request.options;
  const model::RunResult result = model::run(scenario, options);
  refuse_used_up(outcome.path, scenario, result);
  outcome.seed = options.seed.value_or(scenario.seed);
  outcome.checks = result.checks.size();
  outcome.ended = result.world.now;
  outcome.run = stored_run(result);
  outcome.observables = model::observable_digest(result.record).hex();
  if (request.wants_seen) outcome.seen = seen_in(scenario, result.record);
  if (result.broken_off) {
    outcome.broke_off = true;
    outcome.failures.push_back(describe(scenario, *result.broken_off));
    if (result.broken_off->firmware) outcome.notes = before_it(scenario, result);
    return;
  }
  for (const model::CheckResult& check : result.checks) {
    if (check.passed) continue;
    const model::Check& wanted = scenario.checks[check.check];
    outcome.failures.push_back(tr("{}:{}:{}: {}; in fact {} at {}", scenario.files[wanted.mark.file],
                                  wanted.mark.line, wanted.mark.column, describe(scenario, wanted),
                                  check.actual, model::clock_text(check.at)));
  }
  if (result.unfinished) {
    outcome.aborted = tr("the script is not over after {}", model::duration_text(options.until));
  }
  if (request.twice) run_twice(scenario, options, result, outcome);
}

/// The same for a scenario of another protocol.
void judge(const protocol::Scenario& scenario, const CheckRequest& request, Outcome& outcome) {
  protocol::RunOptions options;
  options.seed = request.options.seed;
  options.until = request.options.until;
  options.most_events = request.options.budget.events;
  const protocol::Run run = scenario.run(options);
  outcome.seed = run.seed;
  outcome.checks = run.checks.size();
  outcome.ended = run.ended;
  outcome.run = {run.digest.hex(), run.record.size(), model::clock_text(run.ended),
                 finding_ids(scenario, run)};
  for (const protocol::CheckOutcome& check : run.checks) {
    if (!check.passed) outcome.failures.push_back(failure_text(scenario, check));
  }
  if (!run.broken_off.empty()) outcome.aborted = run.broken_off;
  if (request.twice && scenario.run(options).digest != run.digest)
    outcome.failures.emplace_back(tr("two runs differ"));
}

Outcome check_one(const std::string& path, const CheckRequest& request) {
  Outcome outcome;
  outcome.path = path;
  const auto begun = std::chrono::steady_clock::now();
  try {
    if (names_protocol(path)) {
      judge(load_protocol_scenario(path), request, outcome);
    } else {
      model::Scenario scenario = load_scenario(path).scenario;
      request.firmware.put_in(scenario);
      judge(scenario, request, outcome);
    }
  } catch (const std::exception& error) {
    outcome.aborted = reason_of(error);
  }
  outcome.seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
  outcome.replay = fmt::format("drybus run {} --seed {}{}", path, outcome.seed, request.firmware.options());
  return outcome;
}

// --- in processes of their own: a firmware may bring down the one that it runs in ---

std::string to_line(const Outcome& outcome) {
  return json_text(json::value{{"aborted", outcome.aborted},
                               {"failures", json::value_from(outcome.failures)},
                               {"notes", json::value_from(outcome.notes)},
                               {"checks", outcome.checks},
                               {"run", to_json(outcome.run)},
                               {"seed", outcome.seed},
                               {"ended_ns", outcome.ended.time_since_epoch().count()},
                               {"observables", outcome.observables},
                               {"seen", to_json(outcome.seen)},
                               {"seconds", outcome.seconds},
                               {"broke_off", outcome.broke_off},
                               {"replay", outcome.replay}});
}

Outcome from_line(const std::string& path, const std::string& line) {
  const json::value told = json::parse(line);
  const auto text = [&](const char* key) { return json::value_to<std::string>(told.at(key)); };
  Outcome outcome;
  outcome.path = path;
  outcome.aborted = text("aborted");
  outcome.failures = json::value_to<std::vector<std::string>>(told.at("failures"));
  outcome.notes = json::value_to<std::vector<std::string>>(told.at("notes"));
  outcome.checks = json::value_to<std::size_t>(told.at("checks"));
  outcome.seed = json::value_to<std::uint64_t>(told.at("seed"));
  outcome.ended = sim::Instant{sim::Duration{json::value_to<std::int64_t>(told.at("ended_ns"))}};
  outcome.run = stored_run(told.at("run").as_object());
  outcome.observables = text("observables");
  outcome.seen = seen_from(told.at("seen").as_array());
  outcome.seconds = told.at("seconds").to_number<double>();
  outcome.broke_off = told.at("broke_off").as_bool();
  outcome.replay = text("replay");
  return outcome;
}

std::string lost_line(const std::string& path, const CheckRequest& request, const std::string& how) {
  Outcome outcome;
  outcome.broke_off = true;
  outcome.failures = {fmt::format("{}: {}: {}", path, how, in_words_spoken(could_not_be_stopped))};
  outcome.replay = fmt::format("drybus run {}{}", path, request.firmware.options());
  return to_line(outcome);
}

std::vector<Outcome> check_all(const std::vector<std::string>& paths, const CheckRequest& request,
                               std::size_t jobs) {
  std::vector<Outcome> outcomes(paths.size());
  if (!workforce().is_here()) {
    workforce().do_all(
        {paths.size(), jobs, [&](std::size_t i) { return to_line(check_one(paths[i], request)); },
         [&](std::size_t i, const std::string& line) { outcomes[i] = from_line(paths[i], line); }});
    return outcomes;
  }
  if (request.firmware.built_in()) {
    in_parallel(paths.size(), jobs, [&](std::size_t i) { outcomes[i] = check_one(paths[i], request); });
    return outcomes;
  }
  const std::vector<std::string> lines = in_children(
      paths.size(), jobs, [&](std::size_t i) { return to_line(check_one(paths[i], request)); },
      [&](std::size_t i, const std::string& how) { return lost_line(paths[i], request, how); });
  for (std::size_t i = 0; i < paths.size(); ++i) outcomes[i] = from_line(paths[i], lines[i]);
  return outcomes;
}

/// A digest that moved, and a scenario that has none stored, fail.
void compare_with_stored(const StoredRuns& stored, std::vector<Outcome>& outcomes) {
  for (Outcome& outcome : outcomes) {
    if (!outcome.aborted.empty()) continue;
    const auto before = stored.find(as_utf8(outcome.path));
    if (before == stored.end()) {
      outcome.failures.emplace_back(tr("no digest is stored for it: --accept stores it"));
    } else if (const std::string moved = what_moved(before->second, outcome.run); !moved.empty()) {
      outcome.failures.push_back(tr("not as stored: {}", moved));
    }
  }
}

/// What could be seen and heard, held against what is stored, or stored.
void hold(const ObservablesRequest& request, std::vector<Outcome>& outcomes) {
  std::vector<SeenScenario> seen;
  for (Outcome& outcome : outcomes) {
    if (!outcome.aborted.empty()) continue;
    seen.push_back(
        {outcome.path, {outcome.seed, outcome.ended, std::move(outcome.seen)}, outcome.broke_off, {}, {}});
  }
  hold_observables(request, seen);
  auto held = seen.begin();
  for (Outcome& outcome : outcomes) {
    if (!outcome.aborted.empty()) continue;
    outcome.failures.insert(outcome.failures.end(), held->failures.begin(), held->failures.end());
    outcome.notes.insert(outcome.notes.end(), held->notes.begin(), held->notes.end());
    ++held;
  }
}

/// Scenarios that were not run now keep what is stored of them, unless their file is gone.
void accept(const std::filesystem::path& path, const std::vector<Outcome>& outcomes) {
  allow_update(path);
  const StoredRuns before = std::filesystem::exists(path) ? read_stored_runs(path) : StoredRuns{};
  StoredRuns now = before;
  std::erase_if(now, [](const auto& entry) { return !std::filesystem::exists(entry.first); });
  for (const Outcome& outcome : outcomes) {
    if (outcome.aborted.empty()) now[as_utf8(outcome.path)] = outcome.run;
  }
  const std::string moved = all_that_moved(before, now);
  write_file(path, stored_runs_text(now));
  print_err(moved.empty() ? tr("nothing moved\n") : moved);
}

std::string line_of(const Outcome& outcome) {
  if (!outcome.aborted.empty()) {
    return fmt::format("{} {}\n{}\n", inked(tr("ERROR"), Ink::red), outcome.path, outcome.aborted);
  }
  std::string text = fmt::format(
      "{} {}  {}, {}, {}\n", outcome.passed() ? inked(tr("pass "), Ink::green) : inked(tr("FAIL "), Ink::red),
      outcome.path, plural("{} check", "{} checks", outcome.checks, outcome.checks),
      plural("{} finding", "{} findings", outcome.run.findings.size(), outcome.run.findings.size()),
      model::clock_text(outcome.ended));
  for (const std::string& failure : outcome.failures) text += "      " + failure + "\n";
  for (const std::string& note : outcome.notes) text += "      " + note + "\n";
  if (!outcome.passed()) text += "      " + tr("replay: {}", outcome.replay) + "\n";
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
  return text + plural("{} scenario: {} passed, {} failed, {} could not be run\n",
                       "{} scenarios: {} passed, {} failed, {} could not be run\n", outcomes.size(),
                       outcomes.size(), totals.passed, totals.failed, totals.aborted);
}

std::string as_json(const std::vector<Outcome>& outcomes, const Totals& totals) {
  json::array all;
  for (const Outcome& outcome : outcomes) {
    all.push_back({{"scenario", outcome.path},
                   {"passed", outcome.passed()},
                   {"aborted", outcome.aborted.empty() ? json::value(nullptr) : json::value(outcome.aborted)},
                   {"failures", json::value_from(outcome.failures)},
                   {"notes", json::value_from(outcome.notes)},
                   {"checks", outcome.checks},
                   {"findings", outcome.run.findings.size()},
                   {"digest", outcome.run.digest},
                   {"observables", outcome.observables},
                   {"replay", outcome.replay}});
  }
  const json::object object{
      {"scenarios", all}, {"passed", totals.passed}, {"failed", totals.failed}, {"aborted", totals.aborted}};
  return json_text(object) + "\n";
}

std::string as_junit(const std::vector<Outcome>& outcomes) {
  std::vector<JunitCase> cases;
  for (const Outcome& outcome : outcomes) {
    JunitCase each{outcome.path, outcome.seconds, sim::seconds(outcome.ended), {}, outcome.aborted};
    for (const std::string& failure : outcome.failures) each.failure += failure + "\n";
    if (!each.failure.empty()) each.failure += tr("replay: {}", outcome.replay);
    cases.push_back(std::move(each));
  }
  return junit_xml("drybus check", cases);
}

}  // namespace

int check_command(Arguments arguments) {
  CommandLine line{"drybus check PATH... [options]"};
  line.offer_json();
  line.offer_output("junit", msg("write the results there as JUnit XML").data());
  line.add()("twice",
             msg("run each scenario twice and compare the digests; with --firmware it is done unless --once")
                 .data());
  line.add()("once", msg("with --firmware: run each scenario once only").data());
  line.add()("seed", po::value<std::string>(), msg("instead of the scenarios' own").data());
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             msg("threads; 0: as many as there are cores").data());
  line.add()("until", po::value<std::string>(),
             msg("give up on a scenario after this time on its clock").data());
  line.add()("digests", po::value<std::string>(), msg("compare the digests with those stored there").data());
  line.add()("observables", po::value<std::string>(),
             msg("store there what could be seen and heard; once it is there, hold every scenario against it")
                 .data());
  line.add()("accept",
             msg("with --digests or --observables: store those of now, and tell what moved").data());
  offer_patience(line);
  line.add()("coverage",
             msg("instead: which rows, states, patterns and times of the families the scenarios come through")
                 .data());
  line.add()("mutants", msg("instead: whether the scenarios notice a family with one thing wrong").data());
  line.add()("killers", po::value<std::string>(),
             msg("with --mutants: write scenarios that notice what these do not to this folder").data());
  line.add()("states", po::value<std::string>()->default_value("60000"),
             msg("with --mutants: how many states a hunt for such a scenario may meet, 1000 or more").data());
  offer_budget(line);
  offer_firmware(line);
  line.take_words("PATH", 1, 0);
  if (!line.parse(arguments)) return exit_fine;

  model::RunOptions options;
  if (line.has("seed")) options.seed = line.number("seed");
  if (line.has("until")) options.until = line.duration("until");
  options.budget = read_budget(line);
  const bool wants_json = line.json_wanted();
  // Programs read the JUnit file: what it tells is in English, and so is all of that run.
  const model::Speaking told{line.has("junit") ? nullptr : model::words_spoken()};

  if (line.has("accept") && !line.has("digests") && !line.has("observables"))
    throw Unusable{tr("--accept: of which --digests FILE or --observables FILE?")};
  if (line.has("accept") && line.has("digests")) claim_output("--digests", line.text("digests"));
  const std::optional<ObservablesRequest> observables = read_observables(line);
  // What is about the families' devices leaves other protocols' scenarios out, unless they are named.
  const bool about_devices =
      line.has("coverage") || line.has("mutants") || line.has("firmware") || line.has("observables");
  const std::vector<std::string> paths =
      scenario_files(line.words(), about_devices ? Speaking::keypads : Speaking::anything);
  const auto other =
      std::find_if(paths.begin(), paths.end(), [](const std::string& path) { return names_protocol(path); });
  if (about_devices && other != paths.end())
    throw Unusable{
        tr("{}: it names a protocol ({}), which --coverage, --mutants, --firmware and --observables "
           "do not know yet",
           *other, load_protocol_scenario(*other).protocol->name)};
  if (paths.empty()) throw Unusable{tr("{}: no scenario below it", line.words()[0])};
  if (line.has("mutants") && line.has("coverage"))
    throw Unusable{tr("--mutants and --coverage: one at a time")};
  const FirmwareChoice firmware = read_firmware(line);
  if (!firmware.built_in() && !line.has("until")) options.until = longest_firmware_run;
  const bool about_rows = line.has("mutants") || line.has("coverage");
  const std::vector<std::string> driven =
      about_rows && !firmware.built_in() ? driven_alike(paths, firmware, line.number("jobs")) : paths;
  if (driven.empty()) {
    print_err(
        tr("drybus: in none of these scenarios does the firmware do what the tables of its family say\n"));
    return exit_failed;
  }
  if (line.has("coverage")) return check_coverage(driven, line.number("jobs"), wants_json);
  if (line.has("killers") && !line.has("mutants")) throw Unusable{tr("--killers goes with --mutants")};
  const std::uint64_t states = line.number("states");
  if (states < 1000) throw Unusable{tr("--states: expected 1000 or more")};
  if (line.has("mutants")) {
    return check_mutants({driven, line.number("jobs"), wants_json, states, line.optional_text("killers")});
  }
  const bool twice = line.has("twice") || (!firmware.built_in() && !line.has("once"));
  std::vector<Outcome> outcomes =
      check_all(paths, {options, firmware, twice, observables.has_value()}, line.number("jobs"));

  const auto digests = line.optional_text("digests");
  if (digests && line.has("accept")) {
    accept(*digests, outcomes);
  } else if (digests) {
    compare_with_stored(read_stored_runs(*digests), outcomes);
  }
  if (observables) hold(*observables, outcomes);
  const Totals totals = totals_of(outcomes);
  if (const auto junit = line.optional_text("junit")) write_file(*junit, as_junit(outcomes));
  print_out(wants_json ? as_json(outcomes, totals) : as_text(outcomes, totals));
  if (totals.aborted != 0) {
    print_err(tr("drybus: {} of {} could not be run; the list says why\n", totals.aborted, outcomes.size()));
    return exit_unusable;
  }
  return totals.failed != 0 ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
