#include "tools/commands/protocol_runs.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <array>
#include <boost/json.hpp>

#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/export/line_vcd.h"
#include "tools/options/budget.h"
#include "tools/script/line_reader.h"
#include "tools/view/protocol_view.h"

namespace drybus::tools {

using model::tr;

namespace {

protocol::RunOptions options_of(const CommandLine& line) {
  protocol::RunOptions options;
  if (line.has("seed")) options.seed = line.number("seed");
  if (line.has("until")) options.until = line.duration("until");
  options.most_events = read_budget(line).events;
  return options;
}

protocol::Run run_whole(const std::string& name, const protocol::Scenario& scenario,
                        const protocol::RunOptions& options) {
  protocol::Run run = scenario.run(options);
  if (!run.broken_off.empty()) throw Unusable{fmt::format("{}: {}", name, run.broken_off)};
  return run;
}

}  // namespace

void refuse_options(const CommandLine& line, const protocol::Scenario& scenario,
                    std::initializer_list<const char*> options) {
  for (const char* option : options) {
    if (line.has(option))
      throw Unusable{tr("--{} does not know the protocol '{}' yet", option, scenario.protocol->name)};
  }
}

bool names_protocol(const std::filesystem::path& path) {
  return protocol_named_in(path).has_value();
}

protocol::Scenario load_protocol_scenario(const std::string& path) {
  auto reading = read_protocol_scenario(path);
  if (!reading.ok()) throw Unusable{to_text(reading.problems())};
  return std::move(reading.value());
}

int run_of_protocol(const CommandLine& line) {
  const std::string& name = line.words()[0];
  const protocol::Scenario scenario = load_protocol_scenario(name);
  refuse_options(line, scenario, {"pcapng", "record", "capsule", "firmware"});
  const std::string format = line.text("format");
  if (format == "markdown")
    throw Unusable{tr("--format markdown does not know the protocol '{}' yet", scenario.protocol->name)};
  StorySpan span;
  line.read_span(span.from, span.to);
  protocol::RunOptions options = options_of(line);
  options.keeps_waves = line.has("vcd") || format == "json";
  const protocol::Run run = run_whole(name, scenario, options);
  const std::string text = format == "json"    ? protocol_json(name, scenario, run)
                           : line.has("quiet") ? protocol_verdict(scenario, run)
                                               : protocol_story(scenario, run, span);
  const std::string vcd = line.has("vcd") ? line_vcd(run) : "";
  const std::string printed = as_printed(text);
  std::vector<OutputFile> files;
  if (line.has("vcd")) files.push_back({line.text("vcd"), vcd});
  if (line.has("output")) files.push_back({line.text("output"), printed});
  write_files(files);
  const bool taken = line.has("output") || (line.has("vcd") && line.text("vcd") == "-");
  if (!taken) print_out(text);
  return run.passed() ? exit_fine : exit_failed;
}

int why_of_protocol(const CommandLine& line) {
  const std::string& name = line.words()[0];
  const protocol::Scenario scenario = load_protocol_scenario(name);
  refuse_options(line, scenario, {"at", "prove", "not", "out", "firmware"});
  const std::string& asked = line.words()[1];
  std::vector<std::string> known;
  for (const protocol::FindingKind& kind : scenario.protocol->findings) known.emplace_back(kind.id);
  if (std::find(known.begin(), known.end(), asked) == known.end())
    throw Unusable{tr("'{}': for the protocol '{}', why answers for findings only as yet.{}", asked,
                      scenario.protocol->name, did_you_mean(asked, known))};
  const protocol::Run run = run_whole(name, scenario, options_of(line));
  const auto answer = protocol_why(scenario, run, asked);
  if (!answer) {
    const auto ids = finding_ids(scenario, run);
    print_out(tr("There is no {} in this run; there is {}.\n", asked,
                 ids.empty() ? tr("nothing out of step") : fmt::format("{}", fmt::join(ids, ", "))));
    return exit_failed;
  }
  if (line.json_wanted()) {
    print_out(json_text(boost::json::object{{"scenario", name}, {"question", asked}, {"answer", *answer}}) +
              "\n");
  } else {
    print_out(*answer);
  }
  return exit_fine;
}

}  // namespace drybus::tools
