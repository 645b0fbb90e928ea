// drybus hunt: the shortest way to break an invariant, as a scenario that replays.
#include "model/hunt/hunt.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <boost/json.hpp>
#include <charconv>
#include <cmath>

#include "model/firmware/logic.h"
#include "model/people/timetable.h"
#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/interruptible.h"
#include "tools/base/json_text.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/unusable.h"
#include "tools/base/wrap.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"
#include "tools/options/expectation.h"
#include "tools/options/firmware_choice.h"
#include "tools/options/moves.h"
#include "tools/script/words.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::msg;
using model::plural;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;
using model::HuntResult;
using model::MoveKind;
using sim::SearchEnd;

void add_hunt_options(CommandLine& line) {
  line.add()("for", po::value<std::string>(),
             msg("what to break: a finding that must not be (setup-split), or what must be so ('M1.address "
                 "is 23/4/1')")
                 .data());
  line.offer_output("output,o", msg("write what was found there, as a scenario").data());
  offer_moves(line);
  line.add()(
      "compact",
      msg("keep a 56-bit fingerprint of each state; tells how likely it is that one was left out").data());
  line.add()("no-symmetry", msg("tell like modules apart").data());
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             msg("threads; 0: as many as there are cores").data());
  line.add()("seed", po::value<std::string>(), msg("instead of the scenario's own").data());
  offer_firmware(line);
  line.offer_json();
}

// --- reading the request -----------------------------------------------------------------------------------------

model::HuntOptions hunt_options(const CommandLine& line) {
  model::HuntOptions options;
  options.budget = read_moves(line);
  options.bounds = read_bounds(line);
  options.compact = line.has("compact");
  options.symmetry = !line.has("no-symmetry");
  options.jobs = thread_count(line.number("jobs"));
  return options;
}

model::HuntGoal goal_of(const CommandLine& line, const model::Scenario& scenario) {
  const auto text = line.optional_text("for");
  if (!text)
    throw Unusable{
        tr("--for is missing: what to break, such as --for setup-split or --for 'M1.address is 23/4/1'")};
  model::HuntGoal goal;
  goal.finding = model::parse_finding(*text);
  if (goal.finding && !model::can_be_hunted(*goal.finding))
    throw Unusable{
        tr("--for {}: a hunt compares what there is, and this finding hangs on who stored what many moves "
           "before. Hunt for a fact instead, such as 'M1.level is 60%'.",
           *text)};
  if (goal.finding) return goal;
  const bool one_word = text->find_first_of(".= ") == std::string::npos;
  if (one_word) {
    const std::vector<std::string> known(words::findings().begin(), words::findings().end());
    throw Unusable{
        tr("--for {}: there is no such finding.{} Or what must be so, such as 'M1.mode is normal'.", *text,
           did_you_mean(*text, known))};
  }
  const Expectation expectation = read_expectation(scenario, *text);
  goal.expectation = expectation.check;
  goal.negated = expectation.negated;
  return goal;
}

// --- while it goes on --------------------------------------------------------------------------------------------

std::string size_text(std::uint64_t bytes) {
  if (bytes < 10u << 20) return tr("{} kB", bytes >> 10);
  return tr("{} MB", bytes >> 20);
}

std::string progress_text(const sim::SearchProgress& progress, double gone_s) {
  return tr("{} moves deep, {} distinct states, {:.0f} moves tried a second, {}", progress.depth,
            progress.states, static_cast<double>(progress.transitions) / gone_s,
            size_text(progress.memory_bytes));
}

HuntResult search(const model::Scenario& scenario, const model::HuntGoal& goal,
                  const model::HuntOptions& options) {
  const Interruptible guard;
  ProgressLine line;
  sim::SearchControl control;
  control.stop = &Interruptible::interrupted();
  control.progress = [&, words = model::words_spoken()](const sim::SearchProgress& progress) {
    const model::Speaking speaking{words};  // whichever thread tells
    line.show([&](double gone_s) { return progress_text(progress, gone_s); });
  };
  try {
    return model::hunt(scenario, goal, options, control);
  } catch (const std::invalid_argument& error) {
    throw Unusable{error.what()};
  } catch (const model::FirmwareFault& fault) {
    throw model::FirmwareFault{
        fault.device(), tr("{}\nThe hunt ends here. 'drybus compare SCENARIO --hunt --firmware built-in "
                           "--firmware ...' finds the shortest way to it.",
                           fault.what())};
  } catch (const std::length_error& error) {
    throw Unusable{fmt::format("{}; try --compact", error.what())};
  }
}

// --- telling -----------------------------------------------------------------------------------------------------

struct ToldHunt {
  std::string name;  ///< of the scenario hunted
  const model::Scenario& scenario;
  const model::HuntGoal& goal;
  const model::HuntOptions& options;
  const HuntResult& result;
  std::string output;  ///< empty: none

  [[nodiscard]] bool found() const { return result.already || result.search.end == SearchEnd::broken; }
};

std::string moves_counted(std::uint64_t number) {
  return plural("{} move", "{} moves", number, number);
}

/// A number in a table, with a decimal mark.
std::string tenths_text(double number) {
  return model::with_decimal_mark(fmt::format("{:.1f}", number));
}

std::string moves_text(const model::MoveBudget& budget) {
  std::vector<std::string> allowed;
  for (const MoveKind kind : sim::all_of<MoveKind>()) {
    if (budget[kind] == 0) continue;
    const bool at_will = budget[kind] == model::MoveBudget::unlimited;
    // As --moves names them.
    allowed.push_back(at_will ? std::string{to_string(kind)}
                              : tr("{} (at most {})", to_string(kind), budget[kind]));
  }
  return fmt::format("{}", fmt::join(allowed, ", "));
}

/// Some of them, and how many there are: of two thousand modules nobody reads the names.
std::string names_text(const model::Site& site, const std::vector<model::DeviceId>& devices) {
  constexpr std::size_t most = 12;
  std::vector<std::string> names;
  for (const model::DeviceId device : devices) {
    if (devices.size() <= most || names.size() < most - 1) names.push_back(site.name(device));
  }
  const std::string rest =
      devices.size() <= most ? "" : tr(" ... {} ({} of them)", site.name(devices.back()), devices.size());
  return fmt::format("{}{}", fmt::join(names, ", "), rest);
}

/// "40320", "10^157".
std::string many_text(double many) {
  return many < 1e9 ? fmt::format("{:.0f}", many) : fmt::format("10^{:.0f}", std::floor(std::log10(many)));
}

std::string effort_text(const ToldHunt& told) {
  const sim::SearchProgress& progress = told.result.search.progress;
  std::string text = tr("{} tried, {}, {} of memory", moves_counted(progress.transitions),
                        plural("{} distinct state", "{} distinct states", progress.states, progress.states),
                        size_text(progress.memory_bytes));
  // Of few states most is what was set aside for more.
  if (progress.states > 100'000) {
    text += tr(", {} bytes a state", tenths_text(static_cast<double>(progress.memory_bytes) /
                                                 static_cast<double>(progress.states)));
  }
  text += "\n";
  if (told.result.omission) {
    text += tr("56-bit fingerprints: a state was taken for another with a chance of at most {:.1e}\n",
               *told.result.omission);
  }
  for (const auto& group : told.result.alike) {
    text += tr("{} are alike: up to {} arrangements counted as one\n", names_text(told.scenario.site, group),
               many_text(model::arrangements({group})));
  }
  return text;
}

/// The moves as they begin, and what then came of it, as a run of the scenario tells.
std::string steps_text(const ToldHunt& told) {
  const model::Scenario& found = told.result.found;
  const model::Timetable times = timetable(found.site, found.times, found.people[0]);
  const std::size_t first = told.scenario.people[0].script.size();
  std::string text;
  for (std::size_t i = 0; i < told.result.steps.size(); ++i) {
    text += fmt::format("  {}. {}  {}\n", i + 1, model::clock_text(times.begins[first + i]),
                        describe(found, told.result.steps[i]));
  }
  for (std::size_t p = told.scenario.people.size(); p < found.people.size(); ++p) {
    for (const model::Step& step : found.people[p].script) {
      text += tr("     {}  meanwhile: {}\n", model::clock_text(*step.at), describe(found, step));
    }
  }
  return text;
}

std::vector<model::Finding> findings_of(const ToldHunt& told) {
  std::vector<model::Finding> wanted;
  for (const model::Finding& finding : model::run(told.result.found).findings) {
    if (finding.id == told.goal.finding) wanted.push_back(finding);
  }
  return wanted;
}

std::string outcome_text(const ToldHunt& told) {
  if (!told.goal.finding) {
    const model::RunResult ran = model::run(told.result.found);
    model::Check so = told.result.found.checks.back();
    if (!ran.checks.empty()) so.wanted = {ran.checks.back().actual};
    return tr("Then {}.\n", describe(told.result.found, so));
  }
  std::string text;
  for (const model::Finding& finding : findings_of(told)) {
    text += paragraph(tr("{} at {}: {}", to_string(finding.id), model::clock_text(finding.at), finding.text),
                      told_width, "", "  ");
    text += paragraph(tr("remedy: {}", finding.remedy), told_width, "  ", "  ");
  }
  return text;
}

std::string found_text(const ToldHunt& told) {
  const std::string goal = describe(told.scenario, told.goal);
  std::string text = told.result.already
                         ? tr("{} breaks it by itself: {}\n", told.name, goal)
                         : plural("{} move breaks '{}':\n{}", "{} moves break '{}':\n{}",
                                  told.result.steps.size(), told.result.steps.size(), goal, steps_text(told));
  text += outcome_text(told);
  if (!told.result.already) text += effort_text(told);
  if (told.output.empty()) return text;
  if (told.goal.finding && told.scenario.site.logic == nullptr)
    return text +
           tr("Written to {0}, with what comes of it; 'drybus run {0}' tells the story.\n", told.output);
  return text + tr("Written to {0}, with what should hold; 'drybus run {0}' tells the story.\n", told.output);
}

/// Things that never came about, however much was tried: a search that hardly does anything proves nothing.
std::string never_text(const ToldHunt& told) {
  using model::What;
  std::vector<std::string_view> never;
  for (const What what : {What::gesture, What::mode, What::channel, What::refused, What::obeyed,
                          What::assign_ignored, What::stored}) {
    if ((told.result.noted & model::notes(what)) == 0) never.push_back(to_string(what));
  }
  return never.empty() ? "" : tr("In none of these: {}\n", fmt::format("{}", fmt::join(never, ", ")));
}

std::string not_found_text(const ToldHunt& told) {
  const sim::SearchResult& search = told.result.search;
  const std::string goal = describe(told.scenario, told.goal);
  const std::uint32_t depth = search.progress.depth;
  const std::string so_far =
      tr("'{}' holds for every sequence of up to {}, but not all longer ones were tried: ", goal,
         moves_counted(depth == 0 ? 0 : depth - 1));
  std::string text;
  switch (search.end) {
    case SearchEnd::broken:
      break;
    case SearchEnd::exhausted:
      text = tr("'{}' holds for every sequence of these moves, however long: nothing new comes after {}\n",
                goal, moves_counted(depth == 0 ? 0 : depth - 1));
      break;
    case SearchEnd::depth:
      text = tr("'{}' holds for every sequence within these bounds: up to {}\n", goal, moves_counted(depth));
      break;
    case SearchEnd::states:
      text = so_far + plural("the bound is {} state\n", "the bound is {} states\n",
                             told.options.bounds.states, told.options.bounds.states);
      break;
    case SearchEnd::memory:
      text = so_far + tr("the bound is {}\n", size_text(told.options.bounds.memory_bytes));
      break;
    case SearchEnd::interrupted:
      text = so_far + tr("interrupted") + "\n";
      break;
  }
  text += tr("moves: {}\n", moves_text(told.options.budget));
  return text + effort_text(told) + never_text(told);
}

std::string_view end_word(SearchEnd end) {
  switch (end) {
    case SearchEnd::broken:
      return "broken";
    case SearchEnd::exhausted:
      return "exhausted";
    case SearchEnd::depth:
      return "depth";
    case SearchEnd::states:
      return "states";
    case SearchEnd::memory:
      return "memory";
    case SearchEnd::interrupted:
      return "interrupted";
  }
  return "";
}

std::string as_json(const ToldHunt& told) {
  const sim::SearchProgress& progress = told.result.search.progress;
  json::object object{
      {"scenario", told.name},
      {"goal", describe(told.scenario, told.goal)},
      {"found", told.found()},
      {"already", told.result.already},
      {"end", std::string{end_word(told.result.already ? SearchEnd::broken : told.result.search.end)}},
      {"depth", progress.depth},
      {"states", progress.states},
      {"transitions", progress.transitions},
      {"memory_bytes", progress.memory_bytes},
      {"arrangements", model::arrangements(told.result.alike)},
      {"omission_probability", told.result.omission.value_or(0.0)}};
  json::array steps;
  for (const model::Step& step : told.result.steps) steps.emplace_back(describe(told.result.found, step));
  object["steps"] = std::move(steps);
  json::array findings;
  if (told.found() && told.goal.finding) {
    for (const model::Finding& finding : findings_of(told)) {
      findings.push_back({{"id", std::string{to_string(finding.id)}},
                          {"at_s", sim::seconds(finding.at)},
                          {"text", finding.text},
                          {"remedy", finding.remedy}});
    }
  }
  object["findings"] = std::move(findings);
  return json_text(object) + "\n";
}

void write_found(const ToldHunt& told, const LoadedScenario& loaded) {
  const model::Speaking english{nullptr};
  LoadedScenario written = loaded;
  written.scenario = told.result.found;
  written.scenario.title =
      fmt::format("{}: how '{}' is broken", loaded.scenario.title, describe(told.scenario, told.goal));
  WriteOptions options;
  if (told.output != "-") options.folder = std::filesystem::absolute(told.output).parent_path();
  write_file(told.output, write_scenario(written, options));
}

}  // namespace

int hunt_command(Arguments arguments) {
  CommandLine line{"drybus hunt SCENARIO --for FINDING|EXPECTATION [-o FILE] [options]"};
  add_hunt_options(line);
  line.take_words("SCENARIO", 1, 1);
  if (!line.parse(arguments)) return exit_fine;

  const bool wants_json = line.json_wanted();
  const std::string& name = line.words()[0];
  LoadedScenario loaded = load_scenario(name);
  if (line.has("seed")) loaded.scenario.seed = line.number("seed");
  const FirmwareChoice firmware = read_firmware(line);
  firmware.put_back();
  firmware.put_in(loaded.scenario);
  const model::HuntOptions options = hunt_options(line);
  const model::HuntGoal goal = goal_of(line, loaded.scenario);
  const HuntResult result = search(loaded.scenario, goal, options);

  const ToldHunt told{name,    loaded.scenario, goal,
                      options, result,          line.optional_text("output").value_or("")};
  if (told.found() && !told.output.empty()) write_found(told, loaded);
  const std::string text = wants_json     ? as_json(told)
                           : told.found() ? found_text(told)
                                          : not_found_text(told);
  told.found() && told.output == "-" ? print_err(text) : print_out(text);
  return told.found() ? exit_fine : exit_failed;
}

}  // namespace drybus::tools
