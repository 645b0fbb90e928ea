#include "tools/view/sheet.h"

#include <fmt/format.h>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/xml.h"
#include "tools/view/loads_view.h"
#include "tools/view/plan_view.h"
#include "tools/view/plan_words.h"
#include "tools/view/sheet_style.h"
#include "tools/view/sheet_switches.h"
#include "tools/view/sheet_trouble.h"

namespace drybus::tools {

using model::DeviceId;
using model::tr;

namespace {

std::string titled(const model::Site& site, DeviceId device) {
  const std::string& title = site.title(device);
  const std::string& name = site.name(device);
  return xml_escaped(title == name ? name : fmt::format("{}, {}", name, title));
}

std::string bank(std::string_view what, const model::SwitchBank& switches, std::uint8_t number) {
  return fmt::format("<span class=\"bank\">{} <b>{}</b><br>{}</span>", what, number,
                     switch_svg(switches, number));
}

std::string plates_section(const model::Site& site) {
  std::string html = fmt::format("<h2>{}</h2>\n<p class=\"caution\">{}</p>\n<div class=\"plates\">\n",
                                 tr("Switch settings"), model::in_words_spoken(model::safety_caution));
  for (DeviceId id = 0; id < site.plates.size(); ++id) {
    const model::PlateSpec& plate = site.plates[id];
    if (plate.neighbour) continue;
    html += fmt::format("<div class=\"plate\"><span class=\"box\"></span> <b>{}</b> ({})<br>{}{}</div>\n",
                        titled(site, id), xml_escaped(place_of(site, id)),
                        bank(tr("site"), site.plate_family(id).site_switches, plate.site),
                        bank(tr("zone"), site.plate_family(id).zone_switches, plate.zone));
  }
  return html + "</div>\n";
}

std::string schedule_row(const PlanReport& report, const model::ScheduleRow& row) {
  const model::Site& site = report.plan.site;
  const std::string load = report.loads.rows.empty() ? ""
                                                     : fmt::format("<td class=\"small\">{}</td>",
                                                                   xml_escaped(load_of(report, row.module)));
  return fmt::format("<tr><td>{}</td><td class=\"address\">{}{}</td><td>{}</td>{}</tr>\n",
                     titled(site, row.module), address_text(row),
                     row.held_already ? tr(" (held already)") : "",
                     row.plates.empty() ? "-" : xml_escaped(site.name(row.plates.front())), load);
}

/// Room by room, in the order of the site.
std::string schedule_section(const PlanReport& report) {
  const model::Site& site = report.plan.site;
  const bool loads = !report.loads.rows.empty();
  RoomRows rows{loads ? 4U : 3U};
  for (model::PlaceId place = 0; place < site.places.size(); ++place) {
    for (const model::ScheduleRow& row : report.plan.rows) {
      if (site.place(row.module) == place) rows.add(site.places[place].name, schedule_row(report, row));
    }
  }
  return fmt::format(
      "<h2>{}</h2>\n<table><thead><tr><th>{}</th><th>{}</th><th>{}</th>{}</tr></thead>\n{}</table>\n",
      tr("Schedule"), tr("Module"), tr("Address"), tr("Plate"),
      loads ? fmt::format("<th>{}</th>", tr("Load")) : "", rows.html());
}

std::string scenes_on_sheet(const model::RouteScript& script) {
  const model::SceneWork& scenes = script.scenes;
  if (scenes.lines.empty() && scenes.cannot.empty()) return {};
  std::string html = fmt::format(
      "<h2>{}</h2>\n<p class=\"lead\">{}</p>\n<table>\n", tr("Scenes"),
      tr("When every address holds. See before each store that nothing moves or winks and that nobody is at "
         "another plate."));
  for (std::size_t i = 0; i < scenes.lines.size(); ++i) {
    html +=
        fmt::format("<tr><td><span class=\"box\"></span></td><td class=\"number\">{}.</td><td>{}</td></tr>\n",
                    script.legs.size() + i + 1, xml_escaped(scenes.lines[i].text));
  }
  html += "</table>\n";
  for (const std::string& why : scenes.cannot) html += fmt::format("<p>{}</p>\n", xml_escaped(why));
  return html;
}

std::string route_on_sheet(const RouteReport& route) {
  std::string html = fmt::format(
      "<h2>{}</h2>\n<p class=\"lead\">{}</p>\n", tr("Route"),
      tr("Only one plate and one module are in setup at a time. Tick a line when its lamps have shown what "
         "they should."));
  if (const std::string caution = route_caution(route); !caution.empty())
    html += fmt::format("<p class=\"caution\">{}</p>\n", xml_escaped(caution));
  if (const std::string first = cover_work_text(route); !first.empty())
    html += fmt::format("<p class=\"caution\"><span class=\"box\"></span> {} {}</p>\n",
                        tr("First: {}", xml_escaped(first)),
                        xml_escaped(model::in_words_spoken(model::safety_caution)));
  const model::Site& site = route.problem.site;
  RoomRows rows{4};
  for (std::size_t i = 0; i < route.script.legs.size(); ++i) {
    const model::RouteLeg& leg = route.script.legs[i];
    const DeviceId module = route.problem.stops[leg.visit.stop].module;
    rows.add(
        place_of(site, module),
        fmt::format("<tr><td><span class=\"box\"></span></td><td class=\"number\">{}.</td><td>{}</td><td "
                    "class=\"small\">{}</td></tr>\n",
                    i + 1, xml_escaped(leg_text(route, i)), xml_escaped(lamps_text(site, leg, module))));
  }
  html += fmt::format(
      "<table><thead><tr><th></th><th></th><th class=\"do\">{}</th><th>{}</th></tr></thead>\n{}</table>\n",
      model::tr_as("column", "Do"), tr("Lamps"), rows.html());
  for (const std::string& remark : route_remarks(route))
    html += fmt::format("<p>{}</p>\n", xml_escaped(remark));
  return html + scenes_on_sheet(route.script);
}

std::string risk_on_sheet(const RouteReport& route) {
  if (!route.risk || route.risk->steps.empty()) return {};
  std::string html = fmt::format("<h2>{}</h2>\n<p class=\"lead\">{}</p>\n<ol>\n", tr("Take care here"),
                                 tr("The steps at which a slip does harm most often, by simulation:"));
  for (std::size_t i = 0; i < std::min<std::size_t>(route.risk->steps.size(), 3); ++i) {
    const std::uint32_t step = route.risk->steps[i].step;
    html += fmt::format("<li>{}</li>\n",
                        tr("line {}: {}", leg_of(route.risk_script, step) + 1,
                           xml_escaped(model::describe(route.risk_script.scenario,
                                                       route.risk_script.scenario.people[0].script[step]))));
  }
  return html + "</ol>\n";
}

}  // namespace

std::string sheet_html(const PlanReport& report, bool letter) {
  const std::string title = xml_escaped(std::filesystem::path{report.name}.stem().string());
  std::string html = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"{3}\"><head><meta "
      "charset=\"utf-8\"><title>{0}</title>\n<style>{1}</style>"
      "</head>\n<body>\n<h1>{0}</h1>\n<p>{2}</p>\n",
      tr("Plan: {}", title), sheet_style(letter), xml_escaped(report.loaded.about), page_language());
  for (const model::SiteNumber& number : report.plan.numbers)
    html += fmt::format("<p>{}.</p>\n", number_text(number));
  html += plates_section(report.plan.site) + schedule_section(report);
  if (report.route) html += route_on_sheet(*report.route) + risk_on_sheet(*report.route);
  html += loads_html(report);
  html += trouble_html(report.plan.site);
  html += sign_lines(tr("All of this was done as it stands here"));
  return html + "</body></html>\n";
}

}  // namespace drybus::tools
