// A plan as text, CSV and JSON.
#pragma once

#include <string>
#include <vector>

#include "tools/view/plan_report.h"

namespace drybus::tools {

std::string plan_text(const PlanReport& report);
std::string plan_json(const PlanReport& report);

/// The schedule, a line for each module (RFC 4180): module, label, place, site, zone, channel, address,
/// plate, origin.
std::string plan_csv(const PlanReport& report);

/// "site 37 instead of 50: that is the factory's number".
std::string number_text(const model::SiteNumber& number);

/// Which lamp shows what when a leg of the route went well.
std::string lamps_text(const model::Site& site, const model::RouteLeg& leg, model::DeviceId module);

/// The leg to which a step of the installer's belongs; the last one where it comes after all.
std::size_t leg_of(const model::RouteScript& script, std::uint32_t step);

/// What to do on a leg, in words: "hold M3 local for 3.2 s, go to P1, press up twice, press accept".
std::string leg_text(const RouteReport& route, std::size_t index);
/// What is done with covers off before the route begins; empty when no plate has to be set.
std::string cover_work_text(const RouteReport& route);
/// That loads which nobody may switch are reached by the route; empty when it reaches none.
std::string route_caution(const RouteReport& route);

/// Plates that need more than one pass, and modules that need a second person, in sentences.
std::vector<std::string> route_remarks(const RouteReport& route);

}  // namespace drybus::tools
