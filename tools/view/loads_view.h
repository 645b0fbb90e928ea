// Loads and the bus supply of a plan, as text, JSON and a part of the sheet.
#pragma once

#include <boost/json/object.hpp>
#include <string>

#include "tools/view/plan_report.h"

namespace drybus::tools {

/// Nothing where the site says of no load and no cable.
std::string loads_text(const PlanReport& report);
/// "60 W of 400 W trailing-edge (15 %), at least 5 W"; empty where the site does not say.
std::string load_of(const PlanReport& report, model::DeviceId module);
std::string loads_html(const PlanReport& report);

/// `rows` of modules, `unsaid` modules, `supplies`.
boost::json::object loads_json(const PlanReport& report);

}  // namespace drybus::tools
