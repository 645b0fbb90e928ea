// A line's record in words.
#pragma once

#include <string>
#include <vector>

#include "model/iec62386/trace.h"
#include "model/protocol/protocol.h"

namespace drybus::iec62386 {

/// One entry as a clause, without its time.
std::string describe(const Scenario& scenario, const sim::Record& record, sim::EntryId entry);

/// The whole run, line by line. Frames of a search are told by what came of them. `checks`: in the order of the record.
std::vector<protocol::Told> story(const Scenario& scenario, const sim::Record& record,
                                  const std::vector<protocol::CheckOutcome>& checks);

}  // namespace drybus::iec62386
