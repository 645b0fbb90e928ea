// An explanation as a scenario that replays: what was told, with its slips and faults, and every observation as a check.
#pragma once

#include "model/diagnosis/diagnosis.h"
#include "tools/script/reader.h"

namespace drybus::tools {

/// What was reported as it shows in that run is a `see` (an `expect` where the installer could not see it from where they
/// stood); what was reported otherwise is an `expect` of what shows, with a remark.
LoadedScenario explanation_scenario(const LoadedReport& loaded, const model::RankedExplanation& explanation,
                                    std::size_t number);

}  // namespace drybus::tools
