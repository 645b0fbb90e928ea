// drybus plan: what an installer takes along before anything is touched.
#include <fmt/format.h>

#include <algorithm>

#include "model/words/words.h"
#include "tools/base/file_claims.h"
#include "tools/base/nearest.h"
#include "tools/base/output.h"
#include "tools/base/parallel.h"
#include "tools/base/print_pdf.h"
#include "tools/base/unusable.h"
#include "tools/base/utf8.h"
#include "tools/commands/command.h"
#include "tools/commands/planned_site.h"
#include "tools/load/load.h"
#include "tools/options/command_line.h"
#include "tools/options/paper.h"
#include "tools/script/writer.h"
#include "tools/view/plan_report.h"
#include "tools/view/plan_view.h"
#include "tools/view/sheet.h"

namespace drybus::tools {

using model::msg;
using model::tr;

namespace {

namespace po = boost::program_options;
namespace fs = std::filesystem;

void add_plan_options(CommandLine& line) {
  line.add()("site", po::value<std::string>(),
             msg("this site number for all our plates, in place of theirs").data());
  line.offer_output("csv",
                    msg("write the schedule there; a schedule that is there already is kept to").data());
  line.add()("keep", po::value<std::string>(), msg("keep to the addresses of this schedule (CSV)").data());
  line.add()("afresh", msg("do not keep to the schedule that is there already").data());
  line.offer_output("route", msg("write the route as a scenario").data());
  line.offer_output("sheet", msg("write a sheet for printing: PDF where the name ends so, else HTML").data());
  offer_paper(line);
  line.add()("start", po::value<std::string>(),
             msg("the place where the installer stands first; otherwise where it suits").data());
  line.add()("reserve", po::value<std::string>()->default_value("25"),
             msg("percent of each time-out to leave unused, 0 to 90").data());
  line.add()("runs", po::value<std::string>(),
             msg("how many runs with slips to judge the risk by; 0: none").data());
  line.add()("seed", po::value<std::string>()->default_value("1"), msg("of those runs").data());
  line.add()("jobs,j", po::value<std::string>()->default_value("0"),
             msg("threads; 0: one for each core").data());
  line.offer_json();
}

// --- a schedule of before ---

std::vector<std::string> csv_fields(std::string_view row) {
  std::vector<std::string> fields{""};
  bool quoted = false;
  for (std::size_t i = 0; i < row.size(); ++i) {
    const char c = row[i];
    if (quoted && c == '"' && i + 1 < row.size() && row[i + 1] == '"') {
      fields.back() += row[++i];
    } else if (c == '"') {
      quoted = !quoted;
    } else if (c == ',' && !quoted) {
      fields.emplace_back();
    } else if (c != '\r') {
      fields.back() += c;
    }
  }
  return fields;
}

/// The rows of a CSV text; a line feed between quotation marks ends none.
std::vector<std::vector<std::string>> csv_rows(std::string_view text) {
  std::vector<std::vector<std::string>> rows;
  bool quoted = false;
  std::size_t begin = 0;
  for (std::size_t i = 0; i <= text.size(); ++i) {
    if (i < text.size() && text[i] == '"') quoted = !quoted;
    if (i < text.size() && (text[i] != '\n' || quoted)) continue;
    if (i > begin) rows.push_back(csv_fields(text.substr(begin, i - begin)));
    begin = i + 1;
  }
  return rows;
}

std::vector<std::pair<std::string, model::Address>> read_schedule(const std::string& path) {
  const auto text = DiskFiles{}.read(path);
  if (const auto* refusal = std::get_if<Files::Refusal>(&text))
    throw Unusable{fmt::format("{}: {}", path, refusal->why)};
  const auto rows = csv_rows(std::get<std::string>(text));
  const auto column = [&](std::string_view name) {
    if (!rows.empty()) {
      const auto found = std::find(rows[0].begin(), rows[0].end(), name);
      if (found != rows[0].end()) return static_cast<std::size_t>(found - rows[0].begin());
    }
    throw Unusable{tr("{}:1: this is no schedule: the column '{}' is missing", path, name)};
  };
  const std::size_t module = column("module"), address = column("address");
  std::vector<std::pair<std::string, model::Address>> kept;
  for (std::size_t i = 1; i < rows.size(); ++i) {
    const auto parsed =
        rows[i].size() > std::max(module, address) ? model::parse_address(rows[i][address]) : std::nullopt;
    if (!parsed) throw Unusable{tr("{}: row {} has no address such as 23/4/1", path, i + 1)};
    kept.emplace_back(rows[i][module], *parsed);
  }
  return kept;
}

model::PlanOptions plan_options(const CommandLine& line) {
  model::PlanOptions options;
  auto schedule = line.optional_text("keep");
  if (line.has("csv")) allow_update(line.text("csv"));  // by now the site has been read
  if (!schedule && !line.has("afresh") && line.has("csv") && DiskFiles{}.exists(line.text("csv")))
    schedule = line.text("csv");
  if (schedule) options.kept = read_schedule(*schedule);
  return options;
}

// --- the site ---

std::uint8_t wanted_number(const CommandLine& line, const model::Site& site) {
  const std::uint64_t number = line.number("site");
  const unsigned largest = site.largest_site_number();
  if (number > largest) throw Unusable{tr("--site {}: the switches can show 0 to {}", number, largest)};
  std::optional<std::uint8_t> own;
  for (const model::PlateSpec& plate : site.plates) {
    if (plate.neighbour) continue;
    if (own && *own != plate.site)
      throw Unusable{tr("--site: our plates have several site numbers; set them in the file")};
    own = plate.site;
  }
  return static_cast<std::uint8_t>(number);
}

std::optional<model::PlaceId> start_place(const CommandLine& line, const model::Site& site) {
  if (!line.has("start")) return std::nullopt;
  const std::string wanted = line.text("start");
  std::vector<std::string> names;
  for (std::size_t i = 0; i < site.places.size(); ++i) {
    if (site.places[i].name == wanted) return static_cast<model::PlaceId>(i);
    names.push_back(site.places[i].name);
  }
  throw Unusable{tr("--start: unknown place '{}'.{}", wanted, did_you_mean(wanted, names))};
}

// --- the route ---

model::RouteProblem problem_of(const CommandLine& line, const PlanReport& report) {
  model::RouteProblem problem = route_problem(report);
  problem.start = start_place(line, report.plan.site);
  problem.reserve_percent = static_cast<unsigned>(line.number("reserve", 0, 90, "percent"));
  return problem;
}

/// Enough to tell the riskiest steps of a small site apart; on a large one a run takes long (a fifth of a second for
/// 400 modules), and a plan should be there in five.
std::uint64_t runs_wanted(const CommandLine& line, const RouteReport& route) {
  if (line.has("runs")) return std::min<std::uint64_t>(line.number("runs"), 1'000'000);
  const std::uint64_t stops = route.problem.stops.size() + 1;
  return std::clamp<std::uint64_t>(std::min(60'000 / stops, 2'500'000 / (stops * stops)), 15, 4'000);
}

model::RouteRisk risk_of(const CommandLine& line, const model::Scenario& scenario, std::uint64_t runs) {
  const model::HumanFactors factors;
  const std::uint64_t seed = line.number("seed");
  constexpr std::uint64_t block = 20;
  std::vector<model::RiskPart> parts((runs + block - 1) / block);
  in_parallel(parts.size(), line.number("jobs"), [&](std::size_t i) {
    parts[i] = model::risk_runs(scenario, factors, seed, i * block, std::min(block, runs - i * block));
  });
  model::RiskPart total;
  for (const model::RiskPart& part : parts) total.add(part);
  return model::risk_of(scenario, factors, total);
}

/// In the order of the file, whatever one person can do.
std::optional<model::Route> in_file_order(const RouteReport& route) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < route.problem.stops.size(); ++i) {
    const auto& apart = route.route.apart;
    if (std::find(apart.begin(), apart.end(), i) == apart.end()) order.push_back(i);
  }
  return order.empty() ? std::nullopt : model::route_in_order(route.problem, order);
}

/// The legs for two as one person would do them who stood in both places: they call to each other, and what either of
/// them may do wrong, that person may. Steps at fixed times could not wait for one another.
model::RouteScript as_one_person(const RouteReport& route) {
  model::RouteProblem problem = route.problem;
  model::Route visits = route.route;
  model::Site& site = problem.site;
  for (const std::size_t index : visits.apart) {
    const model::RouteStop& stop = problem.stops[index];
    const model::PlaceId a = site.place(stop.module), b = site.place(stop.plates.front());
    site.walks[a * site.places.size() + b] = site.walks[b * site.places.size() + a] = sim::Duration::zero();
    visits.visits.push_back({index, stop.plates.front(), model::VisitOrder::plate_first});
  }
  visits.apart.clear();
  return model::route_script(problem, visits);
}

RouteReport route_of(const CommandLine& line, const PlanReport& report) {
  RouteReport route;
  route.problem = problem_of(line, report);
  route.route = model::find_route(route.problem);
  route.naive = in_file_order(route);
  route.script = model::route_script(route.problem, route.route);
  model::Scenario& scenario = route.script.scenario;
  scenario.title = fmt::format("The route through {}", harmless(fs::path{report.name}.stem().string()));
  scenario.about =
      "Made by drybus plan: every module gets its address, in the order that finishes soonest.\n";
  for (const SourceFile& source : report.loaded.sources) scenario.files.push_back(source.path);
  route.run = model::run(scenario);
  const std::uint64_t runs = runs_wanted(line, route);
  route.risk_script = route.route.apart.empty() ? route.script : as_one_person(route);
  if (runs > 0) route.risk = risk_of(line, route.risk_script.scenario, runs);
  return route;
}

std::string scenario_text(const PlanReport& report, const fs::path& path) {
  LoadedScenario loaded;
  loaded.scenario = report.route->script.scenario;
  loaded.family_ref = report.loaded.family_ref;
  loaded.family_file = report.loaded.family_file;
  loaded.other_families = report.loaded.other_families;
  loaded.sources = report.loaded.sources;
  loaded.spots = report.loaded.spots;
  return write_scenario(loaded, {fs::absolute(path).parent_path(), {}});
}

void write_outputs(const CommandLine& line, const PlanReport& report) {
  std::vector<std::pair<std::string, std::string>> contents;
  if (line.has("csv")) contents.emplace_back(line.text("csv"), plan_csv(report));
  if (line.has("sheet")) {
    const std::string html = sheet_html(report, letter_paper(line));
    contents.emplace_back(line.text("sheet"), names_pdf(line.text("sheet")) ? pdf_of(html) : html);
  }
  if (line.has("route") && report.route)
    contents.emplace_back(line.text("route"), scenario_text(report, line.text("route")));
  std::vector<OutputFile> files;
  files.reserve(contents.size());
  for (const auto& [path, content] : contents) files.push_back({path, content});
  write_files(files);
}

}  // namespace

int plan_command(Arguments arguments) {
  CommandLine line{"drybus plan SITE [options]"};
  add_plan_options(line);
  line.take_words("SITE", 1, 1);
  if (!line.parse(arguments)) return exit_fine;
  const bool wants_json = line.json_wanted();
  letter_paper(line);

  LoadedSite loaded = load_site(line.words()[0]);
  model::PlanOptions options = plan_options(line);
  if (line.has("site")) options.site_number = wanted_number(line, loaded.site);
  start_place(line, loaded.site);
  PlanReport report = planned(line.words()[0], std::move(loaded), std::move(options));
  const bool clashes = !report.plan.clashes.empty();
  const bool all_held = std::all_of(report.plan.rows.begin(), report.plan.rows.end(),
                                    [](const model::ScheduleRow& row) { return row.held_already; });
  if (!clashes && !all_held) report.route = route_of(line, report);
  if (!clashes) write_outputs(line, report);
  if (line.has("route") && all_held && !clashes)
    print_err(tr("every module holds its address: there is no route to write\n"));
  print_out(wants_json ? plan_json(report) : plan_text(report));
  if (clashes) print_err(clashes_text(report));
  return clashes || (report.route && !report.route->run.passed()) ? exit_failed : exit_fine;
}

}  // namespace drybus::tools
