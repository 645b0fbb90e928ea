// Where moments stand on a page: time set like music, in systems (rows), with room for every label.
//
// Time is not to scale. Moments that matter follow each other at distances that grow slowly with the time
// between them, and never closer than their labels allow; a long stretch in which nothing happens is drawn
// short, with a break. A row that is full ends at a good place and goes on below; every row is stretched to
// the same width.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <vector>

#include "sim/time.h"

namespace drybus::tools::picture {

/// A label that must be shown, beginning at a moment. Labels of one track follow each other without overlap.
struct Slot {
  sim::Instant at{};
  std::uint32_t track = 0;
  double width = 0;  ///< px
};

/// A moment that gets a place of its own.
struct Knot {
  sim::Instant at{};
  bool may_begin_row = true;  ///< false within a press, say
};

struct AxisRequest {
  sim::Instant from{};
  sim::Instant to{};
  double width = 0;         ///< of a row, px
  std::vector<Knot> knots;  ///< by time, within from ... to
  std::vector<Slot> slots;  ///< by time, each at a knot
  std::size_t tracks = 0;
  /// What stands at the beginning of a row that begins at this moment. May be empty.
  std::function<std::vector<Slot>(sim::Instant)> opening;
  std::function<double(sim::Duration)> break_width;  ///< of the words on a break
  std::optional<std::uint32_t> break_track;  ///< where these words stand: its labels keep away from them
  std::size_t most_rows = 60;
};

/// A stretch of more than this without a knot is drawn with a break.
inline constexpr sim::Duration break_after = std::chrono::seconds{10};

struct AxisBreak {
  sim::Instant from{};
  sim::Instant to{};
  double left = 0;  ///< the gap between its two edges
  double right = 0;
};

struct AxisPoint {
  sim::Instant at{};
  double x = 0;
};

struct AxisRow {
  std::vector<AxisPoint> points;  ///< by time and place
  std::vector<AxisBreak> breaks;
  std::size_t first_slot = 0;  ///< of the request's slots
  std::vector<double> slot_x;  ///< where its slots stand, in order

  [[nodiscard]] sim::Instant from() const { return points.front().at; }
  [[nodiscard]] sim::Instant to() const { return points.back().at; }
  /// Moments outside the row are drawn at its edges.
  [[nodiscard]] double x(sim::Instant at) const;
  [[nodiscard]] const AxisBreak* break_at(sim::Instant at) const;
};

struct Axis {
  std::vector<AxisRow> rows;
  bool whole = true;  ///< false: it needed more rows than it may have, and ends early
};

/// REQUIRES: from < to, or from == to and one knot; width is enough for the widest slot.
Axis set_axis(const AxisRequest& request);

}  // namespace drybus::tools::picture
