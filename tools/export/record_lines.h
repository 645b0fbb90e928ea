// The record of a run as JSON Lines: one entry a line, each naming its cause. scenarios/schema/record.schema.json describes it.
#pragma once

#include <string>

#include "model/people/script.h"
#include "sim/record.h"

namespace drybus::tools {

std::string record_lines(const model::Scenario& scenario, const sim::Record& record);

}  // namespace drybus::tools
