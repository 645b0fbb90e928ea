// What somebody asks about a run, as words: "M2.address", "setup-split", "3:42.1".
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "model/why/counterfactual.h"

namespace drybus::tools {

/// A time on the run's clock: with units ("222s", "3min 42s") or as it is printed ("3:42.1", "1:02:03").
std::optional<sim::Instant> parse_clock(std::string_view text);

/// "DEVICE.FACT" or the id of a finding of the actual run. Throws Unusable with the nearest right words.
model::WhyQuestion read_question(const model::Counterfactual& runs, const std::string& asked,
                                 const std::optional<std::string>& at);

}  // namespace drybus::tools
