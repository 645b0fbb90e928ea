// Whole runs of a line, in the terms of any protocol.
#pragma once

#include "model/iec62386/script.h"
#include "model/protocol/protocol.h"

namespace drybus::iec62386 {

/// What this protocol is, to whoever asks.
const protocol::Protocol& line_protocol();

protocol::Run run(const Scenario& scenario, const protocol::RunOptions& options);

/// The scenario in the terms of any protocol; it takes it over.
protocol::Scenario as_any(Scenario scenario);

}  // namespace drybus::iec62386
