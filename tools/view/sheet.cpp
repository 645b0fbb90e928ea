#include "tools/view/sheet.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include "model/record/describe.h"
#include "tools/base/xml.h"
#include "tools/view/loads_view.h"
#include "tools/view/plan_view.h"
#include "tools/view/sheet_style.h"
#include "tools/view/sheet_switches.h"

namespace drybus::tools {

using model::DeviceId;

namespace {

std::string titled(const model::Site& site, DeviceId device) {
  const std::string& title = site.title(device);
  const std::string& name = site.name(device);
  return xml_escaped(title == name ? name : fmt::format("{}, {}", name, title));
}

std::string place_name(const model::Site& site, DeviceId device) {
  return xml_escaped(site.places[site.place(device)].name);
}

std::string bank(std::string_view what, const model::SwitchBank& switches, std::uint8_t number) {
  return fmt::format("<span class=\"bank\">{} <b>{}</b><br>{}</span>", what, number,
                     switch_svg(switches, number));
}

std::string plates_section(const model::Site& site) {
  std::string html = "<h2>Switch settings</h2>\n<p class=\"caution\">";
  html += std::string{model::safety_caution} + "</p>\n<div class=\"plates\">\n";
  for (DeviceId id = 0; id < site.plates.size(); ++id) {
    const model::PlateSpec& plate = site.plates[id];
    if (plate.neighbour) continue;
    html += fmt::format("<div class=\"plate\"><span class=\"box\"></span> <b>{}</b> ({})<br>{}{}</div>\n",
                        titled(site, id), place_name(site, id),
                        bank("site", site.plate_family(id).site_switches, plate.site),
                        bank("zone", site.plate_family(id).zone_switches, plate.zone));
  }
  return html + "</div>\n";
}

std::string schedule_row(const model::Site& site, const model::ScheduleRow& row) {
  return fmt::format("<tr><td>{}</td><td class=\"address\">{}{}</td><td>{}</td></tr>\n",
                     titled(site, row.module), row.address.channel == 0 ? "none" : to_string(row.address),
                     row.held_already ? " (held already)" : "",
                     row.plates.empty() ? "-" : xml_escaped(site.name(row.plates.front())));
}

/// Room by room, in the order of the site.
std::string schedule_section(const model::Plan& plan) {
  const model::Site& site = plan.site;
  std::string html =
      "<h2>Schedule</h2>\n<table><thead><tr><th>Module</th><th>Address</th><th>Plate</th></tr></"
      "thead><tbody>\n";
  for (model::PlaceId place = 0; place < site.places.size(); ++place) {
    bool headed = false;
    for (const model::ScheduleRow& row : plan.rows) {
      if (site.place(row.module) != place) continue;
      if (!headed)
        html += fmt::format("<tr class=\"room\"><th class=\"room\" colspan=\"3\">{}</th></tr>\n",
                            place_name(site, row.module));
      headed = true;
      html += schedule_row(site, row);
    }
  }
  return html + "</tbody></table>\n";
}

std::string route_section(const RouteReport& route) {
  std::string html =
      "<h2>Route</h2>\n<p>Only one plate and one module are in setup at a time. Tick a line when its lamps "
      "have shown "
      "what they "
      "should.</p>\n";
  if (const std::string first = cover_work_text(route); !first.empty())
    html += fmt::format("<p class=\"caution\"><span class=\"box\"></span> First: {} {}</p>\n",
                        xml_escaped(first), xml_escaped(model::safety_caution));
  html += "<table><thead><tr><th></th><th></th><th>Do</th><th>Lamps</th></tr></thead><tbody>\n";
  for (std::size_t i = 0; i < route.script.legs.size(); ++i) {
    const model::RouteLeg& leg = route.script.legs[i];
    const DeviceId module = route.problem.stops[leg.visit.stop].module;
    html += fmt::format(
        "<tr><td><span class=\"box\"></span></td><td class=\"number\">{}.</td><td>{}</td><td "
        "class=\"small\">{}</td></tr>\n",
        i + 1, xml_escaped(leg_text(route, i)), xml_escaped(lamps_text(route.problem.site, leg, module)));
  }
  html += "</tbody></table>\n";
  for (const std::string& remark : route_remarks(route))
    html += fmt::format("<p>{}</p>\n", xml_escaped(remark));
  return html;
}

std::string row(std::string_view seen, std::string_view remedy) {
  return fmt::format("<tr><td>{}</td><td>{}</td></tr>\n", xml_escaped(seen), xml_escaped(remedy));
}

/// "set", "mark and scene together"
std::string gesture_text(const model::Family& family) {
  std::vector<std::string> held;
  for (std::size_t i = 0; i < family.plate.buttons.size(); ++i) {
    if ((family.plate.setup_gesture & model::only(static_cast<model::Button>(i))) != 0)
      held.push_back(family.plate.buttons[i]);
  }
  return held.size() == 1 ? held.front() : fmt::format("{} together", fmt::join(held, " and "));
}

/// In the words of the family, as its buttons and times are.
std::string trouble_section(const model::Family& family) {
  const auto button = [&](model::Button which) { return family.plate.name_of(which); };
  std::string html =
      "<h2>When a lamp does not show what it should</h2>\n<table><thead><tr><th>What is seen</th><th>What to "
      "do</th></tr>"
      "</thead><tbody>\n";
  html +=
      row("A module does not blink after its button was held",
          fmt::format(
              "Hold it once more, for {} at least. Should it stay dark, it has no power, or its button is "
              "faulty: leave it for a competent person.",
              model::duration_text(family.module.setup_hold)));
  html += row("A plate does not blink after it was put in setup",
              fmt::format("Hold {} for {} at least. Another plate in setup is left first, with {}.",
                          gesture_text(family), model::duration_text(family.plate.setup_hold),
                          button(family.plate.leave)));
  html += row(
      "A plate shows that it refuses",
      fmt::format("It stands at channel 0, beyond its last channel or at zone 0. Step with {} to the channel "
                  "that is wanted; with zone 0 its switches have to be set.",
                  button(family.plate.next)));
  html += row(
      "A module has stopped blinking before assign was pressed",
      fmt::format("Its setup has timed out (after {}). Go back, hold its button again, and go on from there. "
                  "Look at the plate as well: its own setup lasts {}.",
                  model::duration_text(family.module.time_out.after),
                  model::duration_text(family.plate.time_out.after)));
  html +=
      row("A module goes on blinking after assign was pressed",
          fmt::format(
              "It did not hear. See that the plate still blinks, step to the channel again and press {}. If "
              "that does not help, the wiring between them is to be looked at by a competent person, with "
              "the caution above.",
              button(family.plate.assign)));
  html += row("Two modules blink",
              fmt::format("Both would take the same address. Press {} on the one that is not wanted.",
                          family.module.button));
  html += row("The wrong load flashes when a channel is stepped to",
              "That channel is held by another module. Check the schedule before anything is assigned.");
  return html + "</tbody></table>\n";
}

std::string risk_section(const RouteReport& route) {
  if (!route.risk || route.risk->steps.empty()) return {};
  std::string html =
      "<h2>Take care here</h2>\n<p>The steps at which a slip does harm most often, by "
      "simulation:</p>\n<ol>\n";
  for (std::size_t i = 0; i < std::min<std::size_t>(route.risk->steps.size(), 3); ++i) {
    const std::uint32_t step = route.risk->steps[i].step;
    html += fmt::format("<li>line {}: {}</li>\n", leg_of(route.risk_script, step) + 1,
                        xml_escaped(model::describe(route.risk_script.scenario,
                                                    route.risk_script.scenario.people[0].script[step])));
  }
  return html + "</ol>\n";
}

}  // namespace

std::string sheet_html(const PlanReport& report, bool letter) {
  const std::string title = xml_escaped(std::filesystem::path{report.name}.stem().string());
  std::string html = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Plan: "
      "{0}</title>\n<style>{1}</style></head>\n"
      "<body>\n<h1>Plan: {0}</h1>\n<p>{2}</p>\n",
      title, sheet_style(letter), xml_escaped(report.loaded.about));
  for (const model::SiteNumber& number : report.plan.numbers)
    html += fmt::format("<p>{}.</p>\n", number_text(number));
  html += plates_section(report.plan.site) + schedule_section(report.plan);
  if (report.route) html += route_section(*report.route) + risk_section(*report.route);
  html += loads_html(report);
  html += trouble_section(report.plan.site.family);
  html += sign_lines("All of this was done as it stands here");
  return html + "</body></html>\n";
}

}  // namespace drybus::tools
