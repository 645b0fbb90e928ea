// Loads that nobody switches without care, and the steps that may switch them.
#pragma once

#include <span>
#include <string>

#include "model/people/script.h"
#include "model/site/site.h"

namespace drybus::model {

/// "Lathe is not to be switched without care, and this may switch it: see first that nothing starts ..."; empty where none of the steps can reach such a load. A module's own button and its supply reach its load, a plate
/// whatever is joined to it.
std::string load_caution(const Site& site, std::span<const Step> steps);

}  // namespace drybus::model
