// The record of a run as JSON Lines: one entry a line, each naming its cause. scenarios/schema/record.schema.json describes it.
#pragma once

#include <string>

#include "model/people/script.h"
#include "sim/record.h"

namespace drybus::tools {

/// As files have it: in English.
std::string record_lines(const model::Scenario& scenario, const sim::Record& record);

/// The same in the words that are spoken, for two runs that are compared before a person's eyes.
std::string spoken_record_lines(const model::Scenario& scenario, const sim::Record& record);

}  // namespace drybus::tools
