// What every queue that is measured gives back.
#pragma once

#include <cstdint>

#include "sim/time.h"

namespace drybus::bench {

enum Kind : std::uint16_t { activity, timer };

struct Popped {
  sim::Instant at;
  Kind kind;
  std::uint32_t device;
};

}  // namespace drybus::bench
