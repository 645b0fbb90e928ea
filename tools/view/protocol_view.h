// Runs of a protocol that is none of the keypad families', in words and as data.
#pragma once

#include <optional>
#include <string>

#include "model/protocol/protocol.h"
#include "tools/view/story.h"

namespace drybus::tools {

/// The whole story: title, three columns, checks, findings with causes and remedies, verdict.
std::string protocol_story(const protocol::Scenario& scenario, const protocol::Run& run,
                           const StorySpan& span = {}, std::size_t width = 110);

/// Only the checks that failed, the findings and the verdict.
std::string protocol_verdict(const protocol::Scenario& scenario, const protocol::Run& run,
                             std::size_t width = 110);

/// A check that failed, with its place: "x.yaml:12:5: M1.short is 3; in fact none at 0:05.0".
std::string failure_text(const protocol::Scenario& scenario, const protocol::CheckOutcome& check);

/// Why a finding came about: what usually makes it so, and the chain of this run, back to what somebody did. Nothing when
/// there is no such finding in the run.
std::optional<std::string> protocol_why(const protocol::Scenario& scenario, const protocol::Run& run,
                                        const std::string& finding, std::size_t width = 110);

/// The run as one JSON object, with the keys that `run --format json` has for every scenario.
std::string protocol_json(const std::string& name, const protocol::Scenario& scenario,
                          const protocol::Run& run);

/// Its findings' ids, in the order in which they came about.
std::vector<std::string> finding_ids(const protocol::Scenario& scenario, const protocol::Run& run);

}  // namespace drybus::tools
