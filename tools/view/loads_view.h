// Loads and the bus supply of a plan, as text, JSON and a part of the sheet.
#pragma once

#include <boost/json/object.hpp>
#include <string>

#include "tools/view/plan_report.h"

namespace drybus::tools {

/// Nothing where the site says of no load and no cable.
std::string loads_text(const PlanReport& report);
std::string loads_html(const PlanReport& report);

/// `rows` of modules, `unsaid` modules, `supplies`.
boost::json::object loads_json(const PlanReport& report);

}  // namespace drybus::tools
