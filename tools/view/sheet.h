// The printed sheet: a plan on A4 or letter, in one HTML file that needs nothing else and reads well in black and
// white.
#pragma once

#include <string>

#include "tools/view/plan_report.h"

namespace drybus::tools {

/// The caution, how the switches are set, the schedule room by room, the route with boxes to tick, what each lamp should
/// show and what to do when it does not, and a line to sign.
std::string sheet_html(const PlanReport& report, bool letter = false);

}  // namespace drybus::tools
