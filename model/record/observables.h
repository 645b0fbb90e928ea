// What of a run can be seen by a person or heard on the bus: indicators, loads and telegrams. Two device
// logics that agree in it cannot be told apart from outside.
#pragma once

#include "sim/digest.h"
#include "sim/record.h"

namespace drybus::model {

/// Whether an entry of a record tells of something that can be seen or heard.
bool is_observable(const sim::Entry& entry);

/// Whether two such entries tell the same. Their causes may differ.
bool is_alike(const sim::Entry& a, const sim::Entry& b);

/// The fingerprint of all observable entries, with their times.
sim::Fingerprint observable_digest(const sim::Record& record);

}  // namespace drybus::model
