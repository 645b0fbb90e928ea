// A route as a scenario: what the installer does step by step, what each lamp should show, and that all is
// well in the end.
#pragma once

#include <cstdint>
#include <vector>

#include "model/planning/route.h"
#include "model/planning/scene_work.h"

namespace drybus::model {

/// One line of the route as it is walked and ticked off.
struct RouteLeg {
  enum class Kind : std::uint8_t { alone, together };
  Kind kind = Kind::alone;
  Visit visit;
  bool enters = false;           ///< the plate is put into setup here
  bool leaves = false;           ///< and leaves it after this visit
  std::uint32_t first_step = 0;  ///< of the installer's script
  std::uint32_t steps = 0;
};

struct RouteScript {
  Scenario scenario;
  std::uint32_t cover_work = 0;  ///< steps at the beginning, for the plates that have to be set
  std::vector<RouteLeg> legs;
  SceneWork scenes;  ///< after the last visit; its steps are the installer's, from `scenes_from` on
  std::uint32_t scenes_from = 0;
};

/// Plates that have to be set come first, with the supply isolated. Stops that one person cannot do come last, with a second person at the module. REQUIRES: the route is of
/// the problem.
RouteScript route_script(const RouteProblem& problem, const Route& route);

/// How often a plate is put into setup on the route: more than once means that one pass did not suffice.
std::vector<std::pair<DeviceId, unsigned>> passes(const std::vector<RouteLeg>& legs);

}  // namespace drybus::model
