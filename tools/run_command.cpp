// drybus run: one scenario at once, told as a story.
#include <fmt/format.h>

#include "model/describe.h"
#include "model/run.h"
#include "tools/command.h"
#include "tools/command_line.h"
#include "tools/export/record_lines.h"
#include "tools/export/run_json.h"
#include "tools/load.h"
#include "tools/output.h"
#include "tools/view/story.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;

void add_options(CommandLine& line) {
  line.add()("format", po::value<std::string>()->default_value("text"), "text or json");
  line.add()("quiet,q", "only what failed, the findings and the verdict");
  line.add()("from", po::value<std::string>(), "tell the story from this time on, e.g. 3min");
  line.add()("to", po::value<std::string>(), "tell the story up to this time");
  line.add()("seed", po::value<std::string>(), "instead of the scenario's own");
  line.add()("until", po::value<std::string>(), "give up after this time on the run's clock (31 days unless said)");
  line.add()("record", po::value<std::string>(), "write the record there, as JSON Lines");
}

StorySpan span_of(const CommandLine& line) {
  StorySpan span;
  if (line.has("from")) span.from = sim::start_of_run + line.duration("from");
  if (line.has("to")) span.to = sim::start_of_run + line.duration("to");
  if (span.from > span.to) throw Unusable{"--from is later than --to"};
  return span;
}

std::string told(const CommandLine& line, const std::string& name, const model::Scenario& scenario,
                 std::uint64_t seed, const model::RunResult& result) {
  const std::string format = line.text("format");
  if (format == "json") return run_json(name, scenario, seed, result);
  if (format != "text") {
    const std::vector<std::string> known{"text", "json"};
    throw Unusable{fmt::format("--format {}: expected text or json.{}", format, did_you_mean(format, known))};
  }
  return line.has("quiet") ? verdict_text(scenario, result) : story_text(scenario, result, seed, span_of(line));
}

}  // namespace

int run_command(Arguments arguments) {
  CommandLine line{"drybus run SCENARIO [options]"};
  add_options(line);
  line.take_words("SCENARIO", 1, 1);
  if (!line.parse(arguments)) return exit_fine;

  const std::string& name = line.words()[0];
  const LoadedScenario loaded = load_scenario(name);
  model::RunOptions options;
  if (line.has("seed")) options.seed = line.number("seed");
  if (line.has("until")) options.until = line.duration("until");
  const std::uint64_t seed = options.seed.value_or(loaded.scenario.seed);
  const model::RunResult result = model::run(loaded.scenario, options);
  if (result.unfinished) {
    throw Unusable{fmt::format("{}: the script is not over after {}; a longer run needs --until", name,
                               model::duration_text(options.until))};
  }
  const std::string text = told(line, name, loaded.scenario, seed, result);
  if (const auto path = line.optional_text("record")) {
    write_file(*path, record_lines(loaded.scenario, result.record));
  }
  print_out(text);
  return result.passed() ? exit_fine : exit_failed;
}

}  // namespace drybus::tools
