// drybus handover: the shortest round that proves a site right, as a sheet, as a script, and answered.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "model/handover/part.h"
#include "model/words/words.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/print_pdf.h"
#include "tools/base/utf8.h"
#include "tools/commands/handover_answers.h"
#include "tools/commands/planned_site.h"
#include "tools/commands/site_commands.h"
#include "tools/commands/site_record.h"
#include "tools/load/load.h"
#include "tools/options/paper.h"
#include "tools/script/writer.h"
#include "tools/view/handover_sheet.h"

namespace drybus::tools {

namespace {

namespace po = boost::program_options;
namespace fs = std::filesystem;
using model::DeviceId;
using model::msg;
using model::tr;

/// Larger sites are gone through zone by zone: what is wrong in one concerns few others.
constexpr std::size_t most_modules_at_once = 24;
/// Of other zones, within sight: who can be taken for one of ours.
constexpr std::size_t most_bystanders = 8;

void add_handover_options(CommandLine& line) {
  line.offer_output("output,o",
                    msg("write the sheet to tick and sign: PDF where the name ends so, else HTML").data());
  offer_paper(line);
  line.offer_output("script", msg("write the round as a scenario that replays").data());
  line.add()("answers", po::value<std::string>(),
             msg("what came of each line: a file with lines such as '3: yes' or '4: M2 dark'").data());
  line.offer_output("report",
                    msg("with --answers: write what was seen as a report, for drybus diagnose").data());
  line.offer_output(
      "record", msg("with --answers: write the record of the site, as it was built and handed over").data());
  line.add()("signed", po::value<std::string>()->default_value(""), msg("for the record: who signed").data());
  line.add()("on", po::value<std::string>()->default_value(""), msg("for the record: the date").data());
  line.add()("catalogue", po::value<std::string>(),
             msg("slips and faults; otherwise the catalogue that comes along").data());
  line.add()("slips", po::value<std::string>(),
             msg("how many slips to run at most, the likeliest first").data());
  line.add()("pairs", po::value<std::string>(), msg("how many pairs of slips to run at most").data());
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             msg("threads; 0: one for each core").data());
  line.offer_json();
}

/// A zone with its plates, its modules and the bystanders; for the whole site of few modules: everything.
std::vector<std::vector<DeviceId>> parts_of(const model::BuiltSite& built) {
  const model::Site& site = built.site;
  std::vector<DeviceId> all;
  for (std::size_t id = 0; id < site.device_count(); ++id) all.push_back(static_cast<DeviceId>(id));
  if (site.modules.size() <= most_modules_at_once) return {all};
  std::map<std::pair<std::uint8_t, std::uint8_t>, std::vector<DeviceId>> zones;
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (!site.plates[plate].neighbour)
      zones[{site.plates[plate].site, site.plates[plate].zone}].push_back(plate);
  }
  std::vector<std::vector<DeviceId>> parts;
  for (auto& [zone, devices] : zones) {
    const auto modules = built.zone_of(devices.front());
    if (modules.empty()) continue;
    devices.insert(devices.end(), modules.begin(), modules.end());
    std::set<model::PlaceId> places;
    for (const DeviceId device : devices) places.insert(site.place(device));
    std::size_t bystanders = 0;
    for (std::size_t i = 0; i < site.modules.size() && bystanders < most_bystanders; ++i) {
      const DeviceId module = site.module_id(i);
      if (!places.contains(site.place(module)) ||
          std::find(modules.begin(), modules.end(), module) != modules.end())
        continue;
      devices.push_back(module);
      ++bystanders;
    }
    parts.push_back(devices);
  }
  return parts;
}

/// The work in a part: what the plan leaves to do, of these devices. Bystanders hold their addresses already.
model::RouteProblem problem_of_part(const model::RouteProblem& whole, const model::BuiltSite& built,
                                    const model::SitePart& part, const model::Site& part_site) {
  model::RouteProblem problem;
  problem.site = part_site;
  problem.times = whole.times;
  std::map<DeviceId, DeviceId> number;
  for (std::size_t i = 0; i < part.of_whole.size(); ++i) number[part.of_whole[i]] = static_cast<DeviceId>(i);
  std::set<DeviceId> worked_on;
  for (const model::RouteStop& stop : whole.stops) {
    model::RouteStop here{0, stop.channel, {}};
    for (const DeviceId plate : stop.plates) {
      if (number.contains(plate)) here.plates.push_back(number[plate]);
    }
    if (here.plates.empty() || !number.contains(stop.module)) continue;
    here.module = number[stop.module];
    worked_on.insert(here.module);
    problem.stops.push_back(here);
  }
  for (const model::PlateToSet& each : whole.to_set) {
    if (number.contains(each.plate)) problem.to_set.push_back({number[each.plate], each.site, each.zone});
  }
  for (std::size_t i = 0; i < problem.site.modules.size(); ++i) {
    const DeviceId id = problem.site.module_id(i);
    if (!worked_on.contains(id))
      problem.site.modules[i].memory = built.site.modules[built.site.module_index(part.of_whole[id])].memory;
  }
  return problem;
}

model::RoundChoice choose_part(const model::RouteProblem& whole, const model::BuiltSite& built,
                               const std::vector<DeviceId>& devices, const model::Catalogue& catalogue,
                               const model::SlipBounds& bounds) {
  const model::SitePart part = model::part_of(built.site, devices);
  model::BuiltSite here;
  here.site = part.site;
  here.start = built.start;
  here.is_part = devices.size() < built.site.device_count();
  const model::SitePart found = model::part_of(whole.site, devices);
  model::RoundChoice choice =
      model::choose_round(here, problem_of_part(whole, built, part, found.site), catalogue, bounds);
  for (model::RoundTest& test : choice.tests) {
    if (test.plate != model::no_device) test.plate = part.of_whole[test.plate];
  }
  for (DeviceId& plate : choice.keys_unpressed) plate = part.of_whole[plate];
  for (auto& [plate, key] : choice.far_unpressed) plate = part.of_whole[plate];
  return choice;
}

void add_to(model::RoundChoice& sum, const model::RoundChoice& part) {
  const auto join = [](auto& into, const auto& more) { into.insert(into.end(), more.begin(), more.end()); };
  join(sum.tests, part.tests);
  join(sum.untold, part.untold);
  join(sum.doubles_untold, part.doubles_untold);
  join(sum.keys_unpressed, part.keys_unpressed);
  join(sum.far_unpressed, part.far_unpressed);
  sum.tests_possible += part.tests_possible;
  sum.causes += part.causes;
  sum.skipped += part.skipped;
  sum.harmless += part.harmless;
  sum.outcomes += part.outcomes;
  sum.told += part.told;
  sum.doubles += part.doubles;
  sum.doubles_told += part.doubles_told;
  sum.doubles_possible += part.doubles_possible;
}

model::RoundChoice choose(const CommandLine& line, const HandoverReport& report,
                          const model::Catalogue& catalogue) {
  const model::RouteProblem whole = route_problem(report.plan);
  const auto parts = parts_of(report.built);
  model::SlipBounds bounds;
  if (parts.size() > 1) bounds.most_runs = 800, bounds.most_doubles = 40;
  if (line.has("slips")) bounds.most_runs = line.number("slips", 0, 1'000'000);
  if (line.has("pairs")) bounds.most_doubles = line.number("pairs", 0, 1'000'000);
  std::vector<model::RoundChoice> choices(parts.size());
  in_parallel(parts.size(), line.number("jobs"), [&](std::size_t i) {
    choices[i] = choose_part(whole, report.built, parts[i], catalogue, bounds);
  });
  model::RoundChoice sum;
  for (const model::RoundChoice& choice : choices) add_to(sum, choice);
  std::sort(sum.tests.begin(), sum.tests.end());
  sum.tests.erase(std::unique(sum.tests.begin(), sum.tests.end()), sum.tests.end());
  std::sort(sum.keys_unpressed.begin(), sum.keys_unpressed.end());
  const auto by_chance = [](const model::Untold& a, const model::Untold& b) { return a.chance > b.chance; };
  std::stable_sort(sum.untold.begin(), sum.untold.end(), by_chance);
  std::stable_sort(sum.doubles_untold.begin(), sum.doubles_untold.end(), by_chance);
  sum.proved = parts.size() == 1 && choices.front().proved;
  return sum;
}

/// For a file, and so in English: every plate and module as it was found, and the round; the family and the sources are
/// the site's.
LoadedScenario round_scenario(const HandoverReport& report) {
  LoadedScenario loaded;
  loaded.scenario = report.round.trial.scenario;
  loaded.scenario.title =
      fmt::format("The round through {}", harmless(fs::path{report.plan.name}.stem().string()));
  loaded.scenario.about =
      "Made by drybus handover: everything holds its address, and every look shows what it should.\n";
  loaded.family_ref = report.plan.loaded.family_ref;
  loaded.family_file = report.plan.loaded.family_file;
  loaded.sources = report.plan.loaded.sources;
  for (const SourceFile& source : loaded.sources) loaded.scenario.files.push_back(source.path);
  loaded.spots = report.plan.loaded.spots;
  return loaded;
}

HandoverReport handed_over(const CommandLine& line, const std::string& path) {
  HandoverReport report;
  report.plan = planned(path, load_site(path), {});
  if (!report.plan.plan.clashes.empty()) {
    print_err(clashes_text(report.plan));
    throw Unusable{tr("{}: it has to be planned before it can be handed over: drybus plan {}", path, path)};
  }
  report.built = model::built(report.plan.plan);
  std::optional<std::string> catalogue_path = line.optional_text("catalogue");
  const model::Catalogue catalogue = load_catalogue(path, catalogue_path);
  report.parts = parts_of(report.built).size();
  report.proof = choose(line, report, catalogue);
  report.round = model::round_script(report.built, model::round_of(report.built, report.proof.tests));
  report.everything = model::everything_takes(report.built);
  report.lines = handover_lines(report);
  return report;
}

/// What stands in a record has to be read again.
std::string entered(const CommandLine& line, const std::string& option) {
  const std::string text = line.text(option);
  if (first_bad_character(text) || text.find('\n') != std::string::npos || text.size() > 200)
    throw Unusable{tr("--{}: one line of up to 200 characters", option)};
  return text;
}

struct Answered {
  std::string report, record;
};

void write_outputs(const CommandLine& line, const HandoverReport& report, const Answered& answered) {
  std::vector<std::pair<std::string, std::string>> contents;
  if (line.has("output")) {
    const std::string html = handover_sheet(report, letter_paper(line));
    contents.emplace_back(line.text("output"), names_pdf(line.text("output")) ? pdf_of(html) : html);
  }
  if (line.has("script")) {
    const model::Speaking english{nullptr};
    const WriteOptions options{fs::absolute(line.text("script")).parent_path(), {}};
    contents.emplace_back(line.text("script"), write_scenario(round_scenario(report), options));
  }
  if (line.has("report")) contents.emplace_back(line.text("report"), answered.report);
  if (line.has("record")) contents.emplace_back(line.text("record"), answered.record);
  std::vector<OutputFile> files;
  files.reserve(contents.size());
  for (const auto& [path, content] : contents) files.push_back({path, content});
  write_files(files);
}

}  // namespace

int handover_command(Arguments arguments) {
  CommandLine line{"drybus handover SITE [options]"};
  add_handover_options(line);
  line.take_words("SITE", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  letter_paper(line);
  for (const char* option : {"report", "record"}) {
    if (line.has(option) && !line.has("answers"))
      throw Unusable{tr("--{} needs --answers: it tells what was seen", option)};
  }
  const Signature signature{entered(line, "signed"), entered(line, "on")};
  const HandoverReport report = handed_over(line, line.words()[0]);
  if (!line.has("answers")) {
    write_outputs(line, report, {});
    print_out(line.json_wanted() ? handover_json(report) : handover_text(report));
    return exit_fine;
  }
  const RoundAnswers answers = read_round_answers(line.text("answers"), report);
  Answered answered;
  if (line.has("report")) {
    const WriteOptions options{fs::absolute(line.text("report")).parent_path(), {}};
    answered.report = answered_report(answers, report, round_scenario(report), options);
  }
  if (line.has("record")) {
    const model::Speaking english{nullptr};
    const WriteOptions options{fs::absolute(line.text("record")).parent_path(), {}};
    answered.record = site_record(report, answers, signature, round_scenario(report), options);
  }
  write_outputs(line, report, answered);
  print_out(answers_text(answers, report));
  if (answers.all_ticked()) return exit_fine;
  if (line.has("report")) print_out(tr("next: drybus diagnose {}\n", line.text("report")));
  return exit_failed;
}

}  // namespace drybus::tools
