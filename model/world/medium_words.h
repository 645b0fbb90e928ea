// What the medium tells, in the words of a run's record.
#pragma once

#include "model/record/trace.h"
#include "sim/medium.h"

namespace drybus::model {

/// The last two bytes of a frame that carries a telegram.
inline std::uint16_t crc_of(const sim::Frame& frame) {
  return static_cast<std::uint16_t>(frame.bytes[frame.size - 2u] << 8 | frame.bytes[frame.size - 1u]);
}

inline What what_of(sim::MediumNote note) {
  switch (note) {
    case sim::MediumNote::queued:
      return What::queued;
    case sim::MediumNote::deferred:
      return What::deferred;
    case sim::MediumNote::began:
      return What::sent;
    case sim::MediumNote::ended:
      return What::sent_whole;
    case sim::MediumNote::gave_up:
      return What::gave_up;
    case sim::MediumNote::dropped:
      return What::dropped;
    case sim::MediumNote::lost:
      return What::lost;
  }
  return What::lost;
}

}  // namespace drybus::model
