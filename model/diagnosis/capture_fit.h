// How well the telegrams that somebody captured on the bus fit those that a hypothesis sends.
#pragma once

#include <span>

#include "model/diagnosis/report.h"

namespace drybus::model {

/// Log-likelihood of the report's capture, given what was sent in order, beacons apart. The order counts and not the
/// time, which nobody told exactly. Of a capture in part, what was sent before its first telegram and after its last
/// says nothing.
double capture_fit(const Report& report, std::span<const Telegram> sent);

}  // namespace drybus::model
