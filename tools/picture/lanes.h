// Which devices a row of a picture shows, and which of their rows.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "tools/picture/plan.h"

namespace drybus::tools::picture {

/// A row's part of time. It has its beginning but not its end, the last row has both.
struct Span {
  sim::Instant from{};
  sim::Instant to{};
  bool last = false;
  [[nodiscard]] bool holds(sim::Instant at) const { return from <= at && (at < to || (last && at == to)); }
  /// Whether any of what lasts from `begin` to `end` shows.
  [[nodiscard]] bool touches(sim::Instant begin, sim::Instant end) const {
    return holds(begin) || (begin < to && end > from);
  }
};

/// One lane as it is drawn: a device, or several to which the same happened.
struct DrawnLane {
  std::vector<model::DeviceId> devices;  ///< [0] is the one drawn
  bool quiet = false;                    ///< nothing happened to any of them
  bool pressed_row = true;
  bool hidden_row = true;
  bool load_row = true;
  [[nodiscard]] model::DeviceId first() const { return devices.front(); }
};

struct LaneChoice {
  std::vector<DrawnLane> above;  ///< the bus: plates
  std::vector<DrawnLane> below;  ///< modules, then whoever nothing happened to
  std::size_t left_out = 0;      ///< devices for which there were too many lanes
  bool part = false;             ///< the others are drawn elsewhere
  std::string rooms;             ///< of a part: "kitchen, hall"
  [[nodiscard]] bool shows(model::DeviceId device) const;
};

/// All devices of a small site. Of a large one those to which something happened within the span, alike ones
/// together; the others as one.
LaneChoice choose_lanes(const Timeline& timeline, const Plan& plan, const Span& span);

/// The lanes in parts, each of whole rooms where it can be and with lanes of `room` px at most together, one at least.
std::vector<LaneChoice> by_rooms(const Timeline& timeline, const LaneChoice& whole, double room,
                                 const std::function<double(const DrawnLane&)>& height_of);

/// "M5", "M5, M6 and M7", "M5, M6, M7 and 9 more".
std::string names_text(const Timeline& timeline, const std::vector<model::DeviceId>& devices,
                       std::size_t most);

}  // namespace drybus::tools::picture
