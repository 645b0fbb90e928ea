// What a pupil says on site, as an action of an exercise.
#pragma once

#include <string>

#include "model/exercise/attempt.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

/// "look", "walk attic", "press P1 up", "hold P1 set for 2.7s", "wait 5s", "isolate", "lock off", "prove dead", "restore",
/// "set P1 23/4", "make good P1-M1", "free P1 up", "reconnect M2", "believe M2 has no address".
Quantity<model::SiteAction> parse_site_action(const model::Scenario& scenario, const std::string& written);

/// All of them, a line each, for help.
std::string site_actions_text(const model::Scenario& scenario);

}  // namespace drybus::tools
