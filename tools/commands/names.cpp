// drybus names: what could stand at some place of a command line, a line each. Completions ask it at every press of a key,
// so it has to be quick.
#include <fmt/format.h>

#include <filesystem>
#include <set>

#include "model/people/script.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/commands/handing_out.h"
#include "tools/load/load.h"
#include "tools/script/fact_value.h"
#include "tools/script/family_search.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::tr;

namespace {

/// A tenth of a second or so; who asks about a larger run gets every finding that there is.
constexpr std::uint64_t most_events = 200'000;

std::string devices(const model::Scenario& scenario) {
  std::string text;
  for (std::size_t i = 0; i < scenario.site.device_count(); ++i)
    text += scenario.site.name(static_cast<model::DeviceId>(i)) + "\n";
  return text;
}

std::string facts(const model::Scenario& scenario) {
  std::string text;
  for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
    const auto device = static_cast<model::DeviceId>(i);
    for (const model::Fact fact : facts_of(scenario.site.is_plate(device)))
      text += fmt::format("{}.{}\n", scenario.site.name(device), to_string(fact));
  }
  return text;
}

std::string findings(const model::Scenario& scenario) {
  model::RunOptions options;
  options.plain = true;
  options.budget.events = most_events;
  const model::RunResult result = model::run(scenario, options);
  std::set<std::string_view> found;
  if (result.broken_off) {
    found.insert(words::findings().begin(), words::findings().end());
  } else {
    for (const model::Finding& finding : result.findings) found.insert(to_string(finding.id));
  }
  std::string text;
  for (const std::string_view id : found) text += fmt::format("{}\n", id);
  return text;
}

std::string names(const std::string& kind, const std::string& file) {
  if (kind == "families") {
    std::string text;
    for (const std::string& name : known_families(std::filesystem::current_path(), ReadOptions{}))
      text += name + "\n";
    return text;
  }
  const std::vector<std::string> known{"devices", "questions", "families"};
  if (kind != "devices" && kind != "questions")
    throw Unusable{tr("'{}': expected devices, questions or families.{}", kind, did_you_mean(kind, known))};
  if (file.empty()) throw Unusable{tr("{} of which scenario?", kind)};
  const model::Scenario scenario = load_scenario(file).scenario;
  return kind == "devices" ? devices(scenario) : facts(scenario) + findings(scenario);
}

}  // namespace

int names_command(Arguments arguments) {
  CommandLine line{"drybus names devices|questions|families [SCENARIO]"};
  line.take_words("what names", 1, 2);
  if (!line.parse(arguments)) return exit_fine;
  const model::Speaking english{nullptr};  // a shell reads it
  print_out(names(line.words()[0], line.words().size() > 1 ? line.words()[1] : ""));
  return exit_fine;
}

}  // namespace drybus::tools
