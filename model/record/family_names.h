// The families of a site by their names.
#pragma once

#include <string>

#include "model/site/site.h"

namespace drybus::model {

/// "wired-keypad", or "wired-keypad and supply-counter": the site's own first.
std::string family_names(const Site& site);

}  // namespace drybus::model
