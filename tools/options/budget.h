// The options --most-events and --most-record: what one run may use up.
#pragma once

#include <string>

#include "model/run/run.h"
#include "tools/options/command_line.h"

namespace drybus::tools {

/// Adds both to a command that drives runs. To be called before parse.
void offer_budget(CommandLine& line);

/// What they say. Throws Unusable. REQUIRES: offer_budget was called before parse.
model::Budget read_budget(const CommandLine& line);

/// Throws Unusable, with who did it, for a run that used up its budget though no firmware is to blame: what became of
/// it until then is long, and nothing that anybody asked for. `name` is the scenario's, as it was given.
void refuse_used_up(const std::string& name, const model::Scenario& scenario, const model::RunResult& result);

}  // namespace drybus::tools
