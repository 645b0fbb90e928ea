// What to do when a lamp does not show what it should: a part of a sheet, in the words of the families on a site.
#pragma once

#include <string>

#include "model/site/site.h"

namespace drybus::tools {

std::string trouble_html(const model::Site& site);

}  // namespace drybus::tools
