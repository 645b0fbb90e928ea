// What callers say they see, in plain words: "Table blinks", "the lamp of Table is dark", "Entrance is on".
#pragma once

#include <string>
#include <vector>

#include "model/diagnosis/report.h"
#include "tools/script/quantity.h"

namespace drybus::tools {

/// The observation that a sentence tells; devices are named or called by their labels. `asked`: what somebody was asked to
/// look at, which "it" and "its lamp" stand for; null: nothing.
Quantity<model::Seen> parse_said(const model::Site& site, const std::string& sentence,
                                 const model::Seen* asked = nullptr);

/// All that a device can show, its lamp first, as observations of it.
std::vector<model::Seen> all_that_shows(const model::Site& site, model::DeviceId device);

/// "its lamp blinks", "it is off".
std::string shown_by_it(const model::Seen& seen);

}  // namespace drybus::tools
