#include "tools/view/plan_view.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "model/family/switch_bank.h"
#include "model/people/timetable.h"
#include "model/planning/cover_work.h"
#include "model/planning/ways_into_setup.h"
#include "model/record/describe.h"
#include "model/record/family_names.h"
#include "model/record/way_into_setup.h"
#include "model/words/words.h"
#include "model/world/load_caution.h"
#include "tools/base/wrap.h"
#include "tools/view/loads_view.h"
#include "tools/view/plan_words.h"
#include "tools/view/sheet_switches.h"

namespace drybus::tools {

using model::DeviceId;
using model::plural;
using model::RouteLeg;
using model::tr;
using model::tr_as;
using model::with_decimal_mark;

namespace {

/// Walks and presses to the second are more than anybody can promise.
std::string minutes_text(sim::Duration duration) {
  const std::int64_t whole = (duration.count() + 500'000'000) / 1'000'000'000;
  if (whole < 60) return tr("{} s", whole);
  if (whole < 3600) return tr("{} min {} s", whole / 60, whole % 60);
  return tr("{} h {} min {} s", whole / 3600, whole / 60 % 60, whole % 60);
}

/// "12.5 %" of a share of one.
std::string percent(double share) {
  return with_decimal_mark(fmt::format("{:.1f} %", 100 * share));
}

/// The same with its sign.
std::string change(double share) {
  return with_decimal_mark(fmt::format("{:+.1f} %", 100 * share));
}

std::string spoken(model::AddressOrigin origin) {
  switch (origin) {
    case model::AddressOrigin::intended:
      return tr_as("address", "intended");
    case model::AddressOrigin::kept:
      return tr_as("address", "kept");
    case model::AddressOrigin::proposed:
      return tr_as("address", "proposed");
  }
  return {};
}

// --- text ---

std::string numbers_section(const model::Plan& plan) {
  std::string text;
  for (const model::SiteNumber& number : plan.numbers) text += number_text(number) + "\n";
  const unsigned all = plan.possible_numbers;
  text += tr(
      "  Neighbours that nobody knows of: were each to take one of the {} numbers at random, the chance that "
      "one of them\n"
      "  has yours is {} with one, {} with five, {} with ten; that some two of five sites clash, {}, of ten, "
      "{}.\n",
      all, percent(model::chance_mine_is_hit(all, 1)), percent(model::chance_mine_is_hit(all, 5)),
      percent(model::chance_mine_is_hit(all, 10)), percent(model::chance_some_two_clash(all, 5)),
      percent(model::chance_some_two_clash(all, 10)));
  return text;
}

std::string plates_section(const model::Plan& plan) {
  std::string text = "\n" + tr("Plates") + "\n";
  const model::Site& site = plan.site;
  for (std::size_t i = 0; i < site.plates.size(); ++i) {
    const model::PlateSpec& plate = site.plates[i];
    if (plate.neighbour) continue;
    const model::PlateFamily& family = site.plate_family(static_cast<model::DeviceId>(i));
    const std::string title = plate.label.empty() ? "" : ", " + plate.label;
    text += tr("  {}{} ({}): site {} = {}; zone {} = {}\n", plate.name, title, site.places[plate.place].name,
               plate.site, model::switches_text(family.site_switches, plate.site), plate.zone,
               model::switches_text(family.zone_switches, plate.zone));
  }
  return text + "  " + tr("(as drawn by 'drybus switches' and on the sheet)") + "\n";
}

std::string schedule_section(const model::Plan& plan) {
  const model::Site& site = plan.site;
  const std::string module = tr("module"), label = tr("label"), place = tr("place");
  std::size_t name_width = columns(module), label_width = columns(label), place_width = columns(place);
  for (const model::ScheduleRow& row : plan.rows) {
    name_width = std::max(name_width, columns(site.name(row.module)));
    label_width = std::max(label_width, columns(site.modules[site.module_index(row.module)].label));
    place_width = std::max(place_width, columns(place_of(site, row.module)));
  }
  const std::size_t count = plan.rows.size();
  std::string text = "\n" + plural("Schedule: {} modules", "Schedule: {} modules", count, count) + "\n";
  text += fmt::format("  {}  {:<10}  {}  {}  {:<8} {}\n", padded(module, name_width), tr("address"),
                      padded(label, label_width), padded(place, place_width), tr("plate"),
                      tr_as("column", "from"));
  for (const model::ScheduleRow& row : plan.rows) {
    text +=
        fmt::format("  {}  {:<10}  {}  {}  {:<8} {}{}\n", padded(site.name(row.module), name_width),
                    address_text(row), padded(site.modules[site.module_index(row.module)].label, label_width),
                    padded(place_of(site, row.module), place_width), plate_of(site, row), spoken(row.origin),
                    row.held_already ? tr(", held already") : "");
  }
  return text;
}

/// "press up 3 times", for presses that follow one another.
class Clauses {
 public:
  void add(const std::string& clause) {
    if (!clauses_.empty() && clauses_.back().first == clause) {
      ++clauses_.back().second;
    } else {
      clauses_.emplace_back(clause, 1u);
    }
  }
  [[nodiscard]] std::string joined() const {
    std::vector<std::string> said;
    for (const auto& [clause, times] : clauses_) {
      said.push_back(times == 1   ? clause
                     : times == 2 ? tr("{} twice", clause)
                                  : tr("{} {} times", clause, times));
    }
    return fmt::format("{}", fmt::join(said, ", "));
  }

 private:
  std::vector<std::pair<std::string, unsigned>> clauses_;
};

/// Scenes come when every address holds; their lines go on from the visits'.
std::string scenes_text(const model::RouteScript& script) {
  const model::SceneWork& scenes = script.scenes;
  if (scenes.lines.empty() && scenes.cannot.empty()) return {};
  const std::size_t count = scenes.lines.size();
  std::string text = "\n" + plural("Scenes: {} steps", "Scenes: {} steps", count, count) + "\n";
  for (std::size_t i = 0; i < scenes.lines.size(); ++i) {
    text +=
        paragraph(scenes.lines[i].text, 110, fmt::format("  {:>3}. ", script.legs.size() + i + 1), "       ");
  }
  for (const std::string& why : scenes.cannot) text += paragraph(why, 110, "  ", "  ");
  return text;
}

std::string route_section(const RouteReport& route) {
  std::string text = cover_work_text(route).empty()
                         ? ""
                         : "\n" + paragraph(tr("First: {}", cover_work_text(route)), 110, "", "  ");
  if (const std::string caution = route_caution(route); !caution.empty())
    text = "\n" + paragraph(caution, 110, "! ", "  ") + text;
  const std::size_t visits = route.script.legs.size();
  text += "\n" + plural("Route: {} visits in {}", "Route: {} visits in {}", visits, visits,
                        minutes_text(route.route.time));
  if (route.route.visits.empty())
    text = "\n" + plural("Route: {} visits", "Route: {} visits", visits, visits);
  if (route.route.optimal && !route.route.visits.empty()) text += tr(", which is the optimum");
  if (!route.route.optimal) {
    text += tr("; no order is under {}, so at most {} could be saved", minutes_text(route.route.bound),
               percent(1 - seconds(route.route.bound) / seconds(route.route.time)));
  }
  if (route.naive) {
    text += "\n  " + tr("(in the order of the file: {}, {})", minutes_text(route.naive->time),
                        change(seconds(route.naive->time) / seconds(route.route.time) - 1));
  }
  text += "\n  " +
          tr("{} of each time-out is kept in reserve", fmt::format("{} %", route.problem.reserve_percent)) +
          "\n";
  for (std::size_t i = 0; i < route.script.legs.size(); ++i) {
    text += paragraph(leg_text(route, i), 110, fmt::format("  {:>3}. ", i + 1), "       ");
  }
  for (const std::string& remark : route_remarks(route)) text += paragraph(remark, 110, "  ", "  ");
  return text + scenes_text(route.script);
}

std::string outcome_section(const RouteReport& route) {
  if (!route.run.passed()) {
    std::string text = "\n" + tr("Dry run: this route does not end as it should") + "\n";
    for (const auto& check : route.run.checks) {
      if (check.passed) continue;
      text += fmt::format("  {}: {}\n",
                          model::describe(route.script.scenario, route.script.scenario.checks[check.check]),
                          check.actual);
    }
    for (const auto& finding : route.run.findings) text += paragraph(finding.text, 110, "  ", "  ");
    return text;
  }
  const std::string ended = model::clock_text(route.run.world.now);
  return route.run.findings.empty()
             ? tr("\nDry run: every address holds after {}, and there is no finding\n", ended)
             : tr("\nDry run: every address holds after {}, and no finding is open once the plates are set\n",
                  ended);
}

/// A chance as finely as so many cases allow: "about 2 %", "2.3 %".
std::string chance_text(double chance, std::uint64_t cases) {
  constexpr std::uint64_t enough_for_two_digits = 100;
  const int digits = cases < enough_for_two_digits ? 1 : 2;
  const double percent = std::clamp(100 * chance, 1e-6, 100.0);
  const int decimals = digits - 1 - static_cast<int>(std::floor(std::log10(percent)));
  const double step = std::pow(10.0, -decimals);
  const std::string text = with_decimal_mark(
      fmt::format("{:.{}f} %", std::min(std::round(percent / step) * step, 100.0), std::max(decimals, 0)));
  return digits == 1 ? tr("about {}", text) : text;
}

std::string step_risk_text(const model::StepRisk& step) {
  constexpr std::uint64_t enough_to_say = 10;
  if (step.bad < enough_to_say)
    return tr("a slip there does harm {} times of {}, too few to say how likely that is", step.bad,
              step.slipped);
  return tr("{}; a slip there does harm {} times of {}", chance_text(step.chance, step.bad), step.bad,
            step.slipped);
}

std::string risk_section(const RouteReport& route) {
  const model::RouteRisk& risk = *route.risk;
  std::uint64_t cases = risk.bad_without_slip;
  for (const model::StepRisk& step : risk.steps) cases += step.bad;
  std::string text = tr(
      "\nRisk, from {} runs with people's timing and slips, where nobody looks at the lamps and mends what "
      "went wrong\n",
      risk.runs);
  text += "  " +
          (route.route.apart.empty() ? tr("(to compare, not to be taken as absolute)")
                                     : tr("(to compare, not to be taken as absolute; legs for two are "
                                          "counted, as if one person did them)")) +
          "\n";
  text += tr("  something is out of step in the end: {}; by timing alone: {} seen, {} to {}\n",
             cases == 0 ? tr("never seen") : tr("{} of the times", chance_text(risk.chance, cases)),
             risk.bad_without_slip, percent(risk.without_slip.low), percent(risk.without_slip.high));
  if (risk.without_slip.low > 0.01) {
    text += "  " +
            tr("Slow walks alone let setups time out: a larger --reserve makes more passes, or sends for a "
               "second person.") +
            "\n";
  }
  const model::Scenario& judged = route.risk_script.scenario;
  for (std::size_t i = 0; i < std::min<std::size_t>(risk.steps.size(), 3); ++i) {
    const model::StepRisk& step = risk.steps[i];
    text += tr("  {}. {} (leg {}): {}\n", i + 1, model::describe(judged, judged.people[0].script[step.step]),
               leg_of(route.risk_script, step.step) + 1, step_risk_text(step));
  }
  return text;
}

/// Who shares a bus, where the site leaves that to planning.
std::string buses_section(const PlanReport& report) {
  const model::Site& site = report.plan.site;
  std::string text;
  for (std::size_t i = 0; i < report.buses.size(); ++i) {
    const model::PlannedBus& bus = report.buses[i];
    std::vector<std::string> names;
    for (const DeviceId device : bus.devices) names.push_back(site.name(device));
    std::string devices = fmt::format("{}", fmt::join(names, ", "));
    const std::string draw = bus.amperes > 0 ? fmt::format(", {:.0f} mA", 1000 * bus.amperes) : "";
    text += paragraph(plural("bus {} ({} devices{}): {}", "bus {} ({} devices{}): {}", names.size(), i + 1,
                             names.size(), draw, devices),
                      110, "  ", "    ");
  }
  return text.empty() ? "" : "\n" + tr("Buses, each a line from plate to module in this order") + "\n" + text;
}

}  // namespace

namespace {
std::optional<model::PlaceId> stands_before(const RouteReport& route, std::size_t leg) {
  if (leg == 0 && !route.problem.to_set.empty())
    return route.problem.site.place(route.problem.to_set.back().plate);
  if (leg == 0) return route.problem.start;
  return route.script.scenario.site.place(route.script.legs[leg - 1].visit.plate);
}
}  // namespace

std::size_t leg_of(const model::RouteScript& script, std::uint32_t step) {
  for (std::size_t i = 0; i < script.legs.size(); ++i) {
    if (step < script.legs[i].first_step + script.legs[i].steps) return i;
  }
  return script.legs.empty() ? 0 : script.legs.size() - 1;
}

std::string cover_work_text(const RouteReport& route) {
  if (route.problem.to_set.empty()) return {};
  const model::Site& site = route.problem.site;
  std::vector<std::string> names;
  for (const model::PlateToSet& each : route.problem.to_set) names.push_back(site.title(each.plate));
  const auto plates = static_cast<std::int64_t>(names.size());
  return tr(
      "the supply of everything of ours is isolated, locked off and proved dead, the switches of {} are set "
      "as "
      "above, the covers go on, and the supply is restored: about {}, besides walking. Whatever was in setup "
      "is "
      "not any more. Nothing is put in setup before, and no cover comes off after.",
      fmt::format("{}", fmt::join(names, ", ")),
      minutes_text(model::isolating_takes + model::setting_takes * plates + model::restoring_takes));
}

std::string route_caution(const RouteReport& route) {
  const model::Scenario& scenario = route.script.scenario;
  std::vector<model::Step> all;
  for (const model::Person& person : scenario.people)
    all.insert(all.end(), person.script.begin(), person.script.end());
  return model::load_caution(scenario.site, all);
}

std::string number_text(const model::SiteNumber& number) {
  switch (number.reason) {
    case model::NumberReason::as_given:
      return tr("Site {}: free of known neighbours", number.planned);
    case model::NumberReason::was_factory:
      return tr("Site {} instead of {}, which is the factory's number", number.planned, number.given);
    case model::NumberReason::was_neighbours:
      return tr("Site {} instead of {}, which a neighbour has", number.planned, number.given);
    case model::NumberReason::wanted:
      return tr("Site {}, as wanted", number.planned);
  }
  return {};
}

namespace {

/// Of a module that asks for its address.
std::string asking_lamps(const std::string& plate, const std::string& lamp, bool leaves) {
  if (leaves)
    return tr(
        "At {0}: it blinks, and not any more when it is left. At {1}: it blinks for a moment, until it is "
        "answered.",
        plate, lamp);
  return tr("At {0}: it blinks on. At {1}: it blinks for a moment, until it is answered.", plate, lamp);
}

/// Of a module that confirms its address, where nobody sees its lamp and the plate's at once.
std::string confirming_lamps_apart(const std::string& plate, const std::string& lamp, bool leaves) {
  if (leaves)
    return tr(
        "At {0}: it blinks before its address is offered, is steady after, and is dark after the press "
        "that confirms it. At {1}: it blinks until it is left; {0} cannot be seen from there.",
        lamp, plate);
  return tr(
      "At {0}: it blinks before its address is offered, is steady after, and is dark after the press that "
      "confirms it. At {1}: it blinks on; {0} cannot be seen from there.",
      lamp, plate);
}

std::string confirming_lamps(const std::string& plate, const std::string& lamp, bool leaves) {
  if (leaves)
    return tr(
        "{} blinks, is steady when its address is offered, and neither after the press that confirms it. "
        "{} blinks until it is left.",
        lamp, plate);
  return tr(
      "{} blinks, is steady when its address is offered, and neither after the press that confirms it. {} "
      "blinks on.",
      lamp, plate);
}

}  // namespace

std::string lamps_text(const model::Site& site, const RouteLeg& leg, DeviceId module) {
  const std::string& plate = site.name(leg.visit.plate);
  const std::string& lamp = site.name(module);
  const bool apart = site.place(module) != site.place(leg.visit.plate);
  if (model::asks(site, module)) return asking_lamps(plate, lamp, leg.leaves);
  if (model::confirmed_within(site, module) > sim::Duration::zero())
    return apart ? confirming_lamps_apart(plate, lamp, leg.leaves)
                 : confirming_lamps(plate, lamp, leg.leaves);
  const std::string assign =
      site.plate_family(leg.visit.plate).name_of(site.plate_family(leg.visit.plate).assign);
  if (apart && leg.leaves)
    return tr(
        "At {0}: it blinks. At {1}: it blinks, and not any more when it is left; {0} cannot be seen from "
        "there.",
        lamp, plate);
  if (apart)
    return tr("At {0}: it blinks. At {1}: it blinks, and blinks on after {2}; {0} cannot be seen from there.",
              lamp, plate, assign);
  return leg.leaves
             ? tr("{0} and {1} blink; after {2} and leaving neither does.", lamp, plate, assign)
             : tr("{0} and {1} blink; after {2}, {0} breathes at the next beacon.", lamp, plate, assign);
}

std::string leg_text(const RouteReport& route, std::size_t index) {
  const RouteLeg& leg = route.script.legs[index];
  const model::Scenario& scenario = route.script.scenario;
  const model::RouteStop& stop = route.problem.stops[leg.visit.stop];
  const bool together = leg.kind == RouteLeg::Kind::together;
  Clauses clauses;
  bool supply_told = false, called = false;
  const bool confirms = model::confirmed_within(scenario.site, stop.module) > sim::Duration::zero();
  if (together) clauses.add(tr("send somebody to {}", place_of(scenario.site, stop.module)));
  std::optional<model::PlaceId> stands = stands_before(route, index);
  for (std::uint32_t i = leg.first_step; i < leg.first_step + leg.steps; ++i) {
    model::Step step = scenario.people[0].script[i];
    const auto there = model::place_for(scenario.site, step);
    if (there && there != stands) clauses.add(tr("go to {}", scenario.site.places[*there].name));
    if (there) stands = there;
    if (step.kind == model::StepKind::see || step.kind == model::StepKind::walk) continue;
    if (together && step.kind == model::StepKind::press && step.at && !called) {
      clauses.add(tr("call: have them {}", model::way_into_setup(scenario.site, stop.module)));
      called = true;
    } else if (together && confirms && step.kind == model::StepKind::press && step.at) {
      clauses.add(tr("have them press {}", model::buttons_text(scenario.site, stop.module, model::only(0))));
    }
    if (step.kind == model::StepKind::wait) continue;  // a part of the way into setup
    if (step.kind == model::StepKind::power) {
      if (!supply_told) clauses.add(model::way_into_setup(scenario.site, stop.module));
      supply_told = true;
      continue;
    }
    step.at.reset();
    clauses.add(model::describe(scenario, step));
  }
  return tr("{} to {}: {}", scenario.site.title(stop.module),
            to_string(*scenario.site.modules[scenario.site.module_index(stop.module)].intended),
            clauses.joined());
}

namespace {
std::string second_person_text(const model::Site& site, const model::RouteStop& stop) {
  const std::string& module = site.title(stop.module);
  const std::string& plate = site.name(stop.plates.front());
  const std::string walk = minutes_text(site.walk(site.place(stop.module), site.place(stop.plates.front())));
  const sim::Duration confirm = model::confirmed_within(site, stop.module);
  if (confirm > sim::Duration::zero())
    return tr(
        "{} needs a second person: from it to {} is a walk of {}, an offered address has to be confirmed "
        "within {}, and with that and the {} steps to its channel one of the two setup modes would not "
        "last.",
        module, plate, walk, model::duration_text(confirm), stop.channel);
  return tr(
      "{} needs a second person: from it to {} is a walk of {}, and with that and the {} steps to its "
      "channel one of the two setup modes would not last.",
      module, plate, walk, stop.channel);
}
}  // namespace

std::vector<std::string> route_remarks(const RouteReport& route) {
  std::vector<std::string> remarks;
  const model::Site& site = route.script.scenario.site;
  const auto is_by_supply = [&](const model::RouteStop& stop) { return model::by_supply(site, stop.module); };
  if (std::any_of(route.problem.stops.begin(), route.problem.stops.end(), is_by_supply)) {
    remarks.push_back(tr(
        "A module's supply is switched at its circuit's own switch or breaker, by whoever may switch there, "
        "once it is "
        "sure that nothing which its load drives can start or stop to anybody's harm. No cover is opened for "
        "it."));
  }
  for (const auto& [plate, times] : model::passes(route.script.legs)) {
    if (times < 2) continue;
    remarks.push_back(
        tr("{} is put into setup {} times: left in between, it saves walking or would time out.",
           site.name(plate), times));
  }
  for (const std::size_t index : route.route.apart) {
    const model::RouteStop& stop = route.problem.stops[index];
    remarks.push_back(second_person_text(site, stop));
  }
  return remarks;
}

std::string plan_text(const PlanReport& report) {
  std::string text = fmt::format("{}: {}\n\n", report.name, family_names(report.loaded.site));
  text += numbers_section(report.plan) + plates_section(report.plan) + schedule_section(report.plan);
  text += buses_section(report);
  text += loads_text(report);
  const std::string note_mark = "  " + tr("note:") + " ";
  for (const std::string& note : report.plan.notes)
    text += paragraph(note, 110, note_mark, std::string(columns(note_mark), ' '));
  if (report.route) {
    text += route_section(*report.route) + outcome_section(*report.route);
    if (report.route->risk) text += risk_section(*report.route);
  } else if (report.plan.clashes.empty()) {
    text += "\n" + tr("Route: nothing to do, every module holds its address already") + "\n";
  }
  text += "\n";
  return text + paragraph(model::in_words_spoken(model::safety_caution), 110, "", "");
}

}  // namespace drybus::tools
