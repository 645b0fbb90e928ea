// What a procedure explains by itself, done just as it was told: a module that nobody put in setup, an address that was
// offered before anybody waited for it.
#pragma once

#include <string>

#include "model/diagnosis/report.h"
#include "model/world/world.h"

namespace drybus::model {

/// As a clause, with what it leaves undone: "all went as told, and as told nobody put M4 in setup: it has no address".
/// `end`: the world when all that was told is done.
std::string as_told(const Report& report, const World& end);

}  // namespace drybus::model
