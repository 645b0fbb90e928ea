// A check being made by a person on site: its steps, and what they notice.
#pragma once

#include <string>
#include <vector>

#include "model/diagnosis/next_check.h"

namespace drybus::model {

/// The installer's steps of a check.
std::vector<Step> steps_of(const Site& site, const HumanTimes& times, const SiteCheck& check);

/// Makes the check in the world, which goes on. `scenario` lends its site; its installer's script is replaced.
Observed make_check(Scenario& scenario, World world, const SiteCheck& check);

/// "a, b", of what was noticed and of names.
std::string joined(const std::vector<std::string>& parts);

}  // namespace drybus::model
