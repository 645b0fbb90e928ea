// A plan as CSV and as JSON.
#include <fmt/format.h>

#include "model/family/switch_bank.h"
#include "model/record/describe.h"
#include "tools/base/json_text.h"
#include "tools/view/loads_view.h"
#include "tools/view/plan_view.h"
#include "tools/view/plan_words.h"

namespace drybus::tools {

namespace json = boost::json;
using model::DeviceId;
using model::RouteLeg;

// --- CSV ---

namespace {

/// RFC 4180; what a spreadsheet would take for a formula gets a quotation mark that keeps it text.
std::string csv_field(std::string_view text) {
  std::string field{text};
  if (!field.empty() && std::string_view{"=+-@\t\r"}.find(field.front()) != std::string_view::npos)
    field.insert(0, "'");
  if (field.find_first_of(",\"\r\n") == std::string::npos) return field;
  std::string quoted = "\"";
  for (const char c : field) quoted += c == '"' ? std::string{"\"\""} : std::string{c};
  return quoted + "\"";
}

}  // namespace

std::string plan_csv(const PlanReport& report) {
  const model::Site& site = report.plan.site;
  std::string text = "module,label,place,site,zone,channel,address,plate,from\r\n";
  for (const model::ScheduleRow& row : report.plan.rows) {
    if (row.address.channel == 0) continue;
    text += fmt::format("{},{},{},{},{},{},{},{},{}\r\n", csv_field(site.name(row.module)),
                        csv_field(site.modules[site.module_index(row.module)].label),
                        csv_field(place_of(site, row.module)), row.address.site, row.address.zone,
                        row.address.channel, to_string(row.address), csv_field(plate_of(site, row)),
                        to_string(row.origin));
  }
  return text;
}

// --- JSON ---

namespace {

json::object schedule_json(const model::Site& site, const model::ScheduleRow& row) {
  json::array plates;
  for (const DeviceId plate : row.plates) plates.push_back(json::value(site.name(plate)));
  return {{"module", site.name(row.module)},
          {"label", site.modules[site.module_index(row.module)].label},
          {"place", place_of(site, row.module)},
          {"address", row.address.channel == 0 ? json::value{} : json::value(to_string(row.address))},
          {"from", to_string(row.origin)},
          {"held_already", row.held_already},
          {"plates", std::move(plates)}};
}

json::array plates_json(const model::Plan& plan) {
  json::array plates;
  for (std::size_t i = 0; i < plan.site.plates.size(); ++i) {
    const model::PlateSpec& plate = plan.site.plates[i];
    if (plate.neighbour) continue;
    const model::PlateFamily& family = plan.site.plate_family(static_cast<model::DeviceId>(i));
    plates.push_back(json::object{{"plate", plate.name},
                                  {"label", plate.label},
                                  {"place", plan.site.places[plate.place].name},
                                  {"site", plate.site},
                                  {"zone", plate.zone},
                                  {"site_switches", model::switches_text(family.site_switches, plate.site)},
                                  {"zone_switches", model::switches_text(family.zone_switches, plate.zone)}});
  }
  return plates;
}

json::object risk_json(const RouteReport& route) {
  json::array steps;
  for (const model::StepRisk& step : route.risk->steps) {
    steps.push_back(json::object{
        {"step", step.step},
        {"leg", leg_of(route.risk_script, step.step) + 1},
        {"text",
         model::describe(route.risk_script.scenario, route.risk_script.scenario.people[0].script[step.step])},
        {"chance", step.chance},
        {"slipped", step.slipped},
        {"harmed", step.bad}});
  }
  return {{"runs", route.risk->runs},
          {"chance", route.risk->chance},
          {"slips_expected", route.risk->slips_expected},
          {"steps", std::move(steps)}};
}

json::object route_json(const RouteReport& route) {
  json::array legs, apart, remarks;
  const model::Site& site = route.script.scenario.site;
  for (std::size_t i = 0; i < route.script.legs.size(); ++i) {
    const RouteLeg& leg = route.script.legs[i];
    legs.push_back(json::object{{"module", site.name(route.problem.stops[leg.visit.stop].module)},
                                {"plate", site.name(leg.visit.plate)},
                                {"second_person", leg.kind == RouteLeg::Kind::together},
                                {"text", leg_text(route, i)}});
  }
  for (const std::size_t stop : route.route.apart)
    apart.push_back(json::value(site.name(route.problem.stops[stop].module)));
  for (const std::string& remark : route_remarks(route)) remarks.push_back(json::value(remark));
  json::array scenes, impossible;
  for (const model::SceneLine& line : route.script.scenes.lines) scenes.push_back(json::value(line.text));
  for (const std::string& why : route.script.scenes.cannot) impossible.push_back(json::value(why));
  const std::string first = cover_work_text(route);
  const std::string caution = route_caution(route);
  json::object object{{"caution", caution.empty() ? json::value(nullptr) : json::value(caution)},
                      {"first", first.empty() ? json::value(nullptr) : json::value(first)},
                      {"time_s", seconds(route.route.time)},
                      {"bound_s", seconds(route.route.bound)},
                      {"optimal", route.route.optimal},
                      {"file_order_s", route.naive ? json::value(seconds(route.naive->time)) : json::value{}},
                      {"legs", std::move(legs)},
                      {"second_person", std::move(apart)},
                      {"remarks", std::move(remarks)},
                      {"scenes", std::move(scenes)},
                      {"scenes_impossible", std::move(impossible)},
                      {"passed", route.run.passed()},
                      {"findings", route.run.findings.size()}};
  if (route.risk) object["risk"] = risk_json(route);
  return object;
}

}  // namespace

std::string plan_json(const PlanReport& report) {
  json::array numbers, rows, clashes, notes;
  for (const model::SiteNumber& number : report.plan.numbers) {
    numbers.push_back(
        json::object{{"given", number.given}, {"planned", number.planned}, {"text", number_text(number)}});
  }
  for (const model::ScheduleRow& row : report.plan.rows) rows.push_back(schedule_json(report.plan.site, row));
  for (const model::PlanClash& clash : report.plan.clashes) clashes.push_back(json::value(clash.what));
  for (const std::string& note : report.plan.notes) notes.push_back(json::value(note));
  json::object object{
      {"site_file", report.name},           {"family", report.plan.site.family.name},
      {"numbers", std::move(numbers)},      {"possible_numbers", report.plan.possible_numbers},
      {"plates", plates_json(report.plan)}, {"schedule", std::move(rows)},
      {"clashes", std::move(clashes)},      {"notes", std::move(notes)}};
  object["loads"] = loads_json(report);
  object["route"] = report.route ? json::value(route_json(*report.route)) : json::value{};
  return json_text(object) + "\n";
}

}  // namespace drybus::tools
