// drybus shrink: the smallest scenario that still fails the same way, and which of its times are free.
#include "model/hunt/shrink.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <boost/json.hpp>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/unusable.h"
#include "tools/base/wrap.h"
#include "tools/commands/command.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"
#include "tools/script/words.h"
#include "tools/script/writer.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;
using model::tr_as;

namespace {

namespace po = boost::program_options;
namespace json = boost::json;
namespace fs = std::filesystem;
using model::FreeTime;

/// One scenario shrunk, with what it came from.
struct ToldShrink {
  std::string name;  ///< of the original
  const model::Scenario& original;
  const model::FailureReason& reason;
  const model::Shrunk& shrunk;
  const std::string& yaml;
  std::string output;  ///< the file; "-" for none
};

void add_shrink_options(CommandLine& line) {
  line.add()("for", po::value<std::string>(),
             msg("keep this finding, e.g. setup-split (else: the first check that fails)").data());
  line.offer_output("output,o", msg("write the scenario there").data(), "-");
  line.add()("seed", po::value<std::string>(), msg("instead of the scenario's own").data());
  line.offer_json();
}

std::optional<model::FindingId> wanted_finding(const CommandLine& line) {
  const auto text = line.optional_text("for");
  if (!text) return std::nullopt;
  const auto id = model::parse_finding(*text);
  if (id) return id;
  const std::vector<std::string> known(words::findings().begin(), words::findings().end());
  throw Unusable{tr("--for {}: there is no such finding.{}", *text, did_you_mean(*text, known))};
}

std::string step_text(const model::Scenario& scenario, const model::StepRef& ref) {
  const model::Step& step = scenario.people[ref.person].script[ref.step];
  std::string text = ref.person == 0 ? "" : scenario.people[ref.person].name + ": ";
  text += describe(scenario, step);
  if (step.mark.line != 0) text += fmt::format(" ({}:{})", scenario.files[step.mark.file], step.mark.line);
  return text;
}

// --- what is free ---

std::string_view kind_text(FreeTime::Kind kind) {
  switch (kind) {
    case FreeTime::Kind::wait:
      return "wait";
    case FreeTime::Kind::press:
      return "press";
    case FreeTime::Kind::hold:
      return "hold";
    case FreeTime::Kind::at:
      return "at";
    case FreeTime::Kind::walk:
      return "walk";
  }
  return "";
}

/// How a free time is told, by what it is a time of.
struct RangeWords {
  std::string_view none_but;
  std::string_view open;
  std::string_view between;
};

RangeWords range_words(FreeTime::Kind kind) {
  switch (kind) {
    case FreeTime::Kind::wait:
      return {msg("no other wait than {}, to {}"), msg("any wait of {} or more (tried up to {})"),
              msg("any wait from {} to {}")};
    case FreeTime::Kind::press:
      return {msg("no other press than {}, to {}"), msg("any press of {} or more (tried up to {})"),
              msg("any press from {} to {}")};
    case FreeTime::Kind::hold:
      return {msg("no other hold than {}, to {}"), msg("any hold of {} or more (tried up to {})"),
              msg("any hold from {} to {}")};
    case FreeTime::Kind::at:
      return {msg("no other moment than {}, to {}"), msg("any moment of {} or more (tried up to {})"),
              msg("any moment from {} to {}")};
    case FreeTime::Kind::walk:
      return {msg("no other walk than {}, to {}"), msg("any walk of {} or more (tried up to {})"),
              msg("any walk from {} to {}")};
  }
  return {};
}

/// "any wait from 141 s to 179 s".
std::string range_text(const FreeTime& free) {
  const RangeWords words = range_words(free.kind);
  const auto told = [](std::string_view written, sim::Duration one, sim::Duration other) {
    return fmt::format(fmt::runtime(in_words_spoken(written)), model::duration_text(one),
                       model::duration_text(other));
  };
  if (free.open_ended) return told(words.open, free.least, free.greatest);
  if (free.least == free.greatest) return told(words.none_but, free.now, model::shrink_resolution);
  return told(words.between, free.least, free.greatest);
}

std::string whose_time_text(const model::Scenario& scenario, const FreeTime& free) {
  if (free.kind != FreeTime::Kind::walk) return step_text(scenario, free.step);
  return tr("walk from {} to {}", scenario.site.places[free.from].name, scenario.site.places[free.to].name);
}

// --- text ---

std::string list_text(std::string_view head, const std::vector<std::string>& items) {
  if (items.empty()) return {};
  std::string text = fmt::format("{}\n", head);
  for (const std::string& item : items) text += paragraph(item, told_width, "  ", "      ");
  return text;
}

std::size_t step_count(const model::Scenario& scenario) {
  std::size_t steps = 0;
  for (const model::Person& person : scenario.people) steps += person.script.size();
  return steps;
}

std::string as_text(const ToldShrink& told) {
  const model::Scenario& original = told.original;
  const model::Scenario& small = told.shrunk.scenario;
  std::string text =
      paragraph(fmt::format("{}: {}", told.name, spoken(told.reason)), told_width, "", "  ");
  text += tr("{} of {} steps and {} of {} devices are left ({} runs)\n", step_count(small),
             step_count(original), small.site.device_count(), original.site.device_count(), told.shrunk.runs);
  std::vector<std::string> items;
  for (const auto& ref : told.shrunk.removed) items.push_back(step_text(original, ref));
  text += list_text(tr("Not needed:"), items);
  items.clear();
  for (const auto device : told.shrunk.removed_devices) items.push_back(original.site.title(device));
  text += list_text(tr("Devices that are not needed:"), items);
  items.clear();
  for (const auto& wait : told.shrunk.shorter) {
    items.push_back(tr("{}: {} will do", step_text(original, wait.step), model::duration_text(wait.after)));
  }
  text += list_text(tr("Shorter:"), items);
  items.clear();
  for (const FreeTime& free : told.shrunk.free) {
    items.push_back(fmt::format("{}: {}", whose_time_text(small, free), range_text(free)));
  }
  text +=
      list_text(tr("Free, each by itself, to {}:", model::duration_text(model::shrink_resolution)), items);
  if (told.output == "-") return text + "\n" + told.yaml;
  return text + tr("Written to {}; replay: drybus run {}\n", told.output, told.output);
}

// --- JSON ---

json::object step_json(const model::Scenario& scenario, const model::StepRef& ref) {
  const model::Step& step = scenario.people[ref.person].script[ref.step];
  json::object object{{"person", scenario.people[ref.person].name}, {"step", describe(scenario, step)}};
  object["line"] = step.mark.line == 0 ? json::value(nullptr) : json::value(step.mark.line);
  return object;
}

json::object free_json(const model::Scenario& scenario, const FreeTime& free) {
  json::object object{{"kind", kind_text(free.kind)}, {"what", whose_time_text(scenario, free)}};
  object["now_s"] = sim::seconds(free.now);
  object["least_s"] = sim::seconds(free.least);
  object["greatest_s"] = free.open_ended ? json::value(nullptr) : json::value(sim::seconds(free.greatest));
  object["text"] = range_text(free);
  return object;
}

std::string as_json(const ToldShrink& told) {
  json::array removed, devices, shorter, free;
  for (const auto& ref : told.shrunk.removed) removed.push_back(step_json(told.original, ref));
  for (const auto device : told.shrunk.removed_devices) devices.emplace_back(told.original.site.name(device));
  for (const auto& wait : told.shrunk.shorter) {
    json::object object = step_json(told.original, wait.step);
    object["before_s"] = sim::seconds(wait.before);
    object["after_s"] = sim::seconds(wait.after);
    shorter.push_back(std::move(object));
  }
  for (const FreeTime& each : told.shrunk.free) free.push_back(free_json(told.shrunk.scenario, each));
  json::object object{{"scenario", told.name}, {"reason", to_string(told.reason)}};
  object["steps_before"] = step_count(told.original);
  object["steps_after"] = step_count(told.shrunk.scenario);
  object["removed_steps"] = std::move(removed);
  object["removed_devices"] = std::move(devices);
  object["shorter"] = std::move(shorter);
  object["free"] = std::move(free);
  object["resolution_s"] = sim::seconds(model::shrink_resolution);
  object["runs"] = told.shrunk.runs;
  object["output"] = told.output == "-" ? json::value(nullptr) : json::value(told.output);
  object["yaml"] = told.yaml;
  return json_text(object) + "\n";
}

// --- the scenario ---

/// Beside what it was made from, as other files are found from there.
std::string yaml_of(const LoadedScenario& original, const ToldShrink& told) {
  const model::Speaking english{nullptr};
  LoadedScenario small = original;
  small.scenario = told.shrunk.scenario;
  small.spots.clear();
  for (const auto place : told.shrunk.kept_places) {
    small.spots.push_back(place < original.spots.size() ? original.spots[place] : std::nullopt);
  }
  small.scenario.about = fmt::format("The smallest part of \"{}\" that still shows: {}.\n",
                                     told.original.title, to_string(told.reason));
  WriteOptions options;
  if (told.output != "-") options.folder = fs::absolute(told.output).parent_path();
  std::string yaml = write_scenario(small, options);
  const auto again =
      read_scenario_text(yaml, told.output == "-" ? fs::path{told.name} : fs::path{told.output});
  if (!again.ok())
    throw std::logic_error{"what was shrunk cannot be read again:\n" + to_text(again.problems())};
  if (!fails_by(again.value().scenario, told.reason)) {
    throw std::logic_error{"what was shrunk no longer fails once it is written down"};
  }
  return yaml;
}

std::string nothing_to_shrink(const CommandLine& line, const model::Scenario& scenario) {
  const model::RunResult result = model::run(scenario);
  std::vector<std::string_view> ids;
  for (const model::Finding& finding : result.findings) {
    if (std::find(ids.begin(), ids.end(), to_string(finding.id)) == ids.end())
      ids.push_back(to_string(finding.id));
  }
  const std::string found = ids.empty() ? tr_as("findings", "none") : fmt::format("{}", fmt::join(ids, ", "));
  if (line.has("for")) return tr("there is no finding {} to keep; findings: {}", line.text("for"), found);
  return tr("no check fails, so there is nothing to shrink; findings that --for could keep: {}", found);
}

}  // namespace

int shrink_command(Arguments arguments) {
  CommandLine line{"drybus shrink SCENARIO [options]"};
  add_shrink_options(line);
  line.take_words("SCENARIO", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  const bool wants_json = line.json_wanted();
  const auto finding = wanted_finding(line);

  LoadedScenario loaded = load_scenario(line.words()[0]);
  if (line.has("seed")) loaded.scenario.seed = line.number("seed");
  const auto reason = model::reason_to_fail(loaded.scenario, finding);
  if (!reason) {
    print_err(fmt::format("{}: {}\n", line.words()[0], nothing_to_shrink(line, loaded.scenario)));
    return exit_failed;
  }
  if (!fails_by(loaded.scenario, *reason)) {
    throw Unusable{tr("{}: the script is not over after {}", line.words()[0],
                      model::duration_text(model::default_run_bound))};
  }
  const model::Shrunk shrunk = model::shrink(loaded.scenario, *reason);
  std::string yaml;
  const ToldShrink told{line.words()[0], loaded.scenario, *reason, shrunk, yaml, line.text("output")};
  yaml = yaml_of(loaded, told);
  if (told.output != "-") write_file(told.output, yaml);
  print_out(wants_json ? as_json(told) : as_text(told));
  return exit_fine;
}

}  // namespace drybus::tools
