// Times as the panel's messages carry them.
#pragma once

#include "sim/time.h"

namespace drybus::tools {

/// The decimal nearest to a time: it reads back as the same nanosecond, and prints as short as people write
/// it.
inline double exact_seconds(sim::Duration duration) {
  return static_cast<double>(duration.count()) / 1e9;
}
inline double exact_seconds(sim::Instant at) {
  return exact_seconds(at.time_since_epoch());
}

}  // namespace drybus::tools
