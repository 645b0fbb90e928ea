// A whole plan as it is told: schedule, route, its run, its risks.
#pragma once

#include <optional>
#include <string>

#include "model/planning/allocation.h"
#include "model/planning/loads.h"
#include "model/planning/route_risk.h"
#include "model/planning/route_script.h"
#include "model/run/run.h"
#include "tools/script/reader.h"

namespace drybus::tools {

struct RouteReport {
  model::RouteProblem problem;
  model::Route route;
  model::RouteScript script;
  std::optional<model::Route>
      naive;             ///< the modules in the order of the file; nothing when a setup mode would time out
  model::RunResult run;  ///< of the script
  std::optional<model::RouteRisk> risk;
  /// What the risk was judged by: the same legs, where two who call to each other act as one person does.
  model::RouteScript risk_script;
};

struct PlanReport {
  std::string name;
  LoadedSite loaded;
  model::SiteWishes wishes;
  std::vector<model::PlannedBus> buses;  ///< where the site left them to planning
  model::Plan plan;
  model::LoadReport loads;           ///< of the planned site; its clashes are among the plan's
  std::optional<RouteReport> route;  ///< not with a clash, and not when there is nothing left to address
};

}  // namespace drybus::tools
