// What was done, in plain words, as a step of a report.
#pragma once

#include <string>

#include "model/site/site.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

/// "press Hall plate up" as "{press: \"Hall plate up\"}". What is wrong with what it names is for the report's reader.
Quantity<std::string> told_step(const model::Site& site, const std::string& line);

}  // namespace drybus::tools
