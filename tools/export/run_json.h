// A run as one JSON object, for programs.
#pragma once

#include <string>

#include "model/run/run.h"

namespace drybus::tools {

/// Keys: scenario, seed, ended_at_s, passed, digest, checks, findings, devices. `name` is the scenario as it was named.
std::string run_json(const std::string& name, const model::Scenario& scenario, std::uint64_t seed,
                     const model::RunResult& result);

}  // namespace drybus::tools
