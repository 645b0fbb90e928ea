// A site with its plan: what plan and handover begin with.
#pragma once

#include <string>

#include "tools/view/plan_report.h"

namespace drybus::tools {

/// Chooses what the site leaves open, gives out addresses and checks the loads. What clashes is among the plan's clashes.
PlanReport planned(std::string name, LoadedSite loaded, model::PlanOptions options);

/// Clashes at the places in the file where their devices stand.
std::string clashes_text(const PlanReport& report);

/// The work that is left to do on the planned site: plates to set, modules to address. REQUIRES: there is no clash.
model::RouteProblem route_problem(const PlanReport& report);

}  // namespace drybus::tools
