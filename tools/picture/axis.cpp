#include "tools/picture/axis.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace drybus::tools::picture {

namespace {

constexpr double second_px = 26;  ///< a second, unstretched
constexpr double growth = 0.38;   ///< and how distances grow with time
constexpr double longest_px = 110;
constexpr double shortest_px = 3;
constexpr double label_gap_px = 6;  ///< between labels of one track
constexpr double break_px = 8;      ///< between the two edges of a break
constexpr double tightest = 0.35;   ///< to save a row
constexpr double widest = 4;
constexpr double full_enough = 0.6;  ///< a row may end from this part of its width on

double distance_px(sim::Duration time, double stretch) {
  const double natural = second_px * std::pow(sim::seconds(time), growth);
  return std::max(shortest_px, stretch * std::min(natural, longest_px));
}

/// Sets one row of knots [first, last] after another.
class Setter {
 public:
  explicit Setter(const AxisRequest& request)
      : request_(request), knots_(request.knots), cursors_(request.tracks, 0.0) {
    const auto at = [](const Knot& knot, sim::Instant instant) { return knot.at < instant; };
    if (knots_.empty() || knots_.front().at != request.from) knots_.insert(knots_.begin(), {request.from});
    if (knots_.back().at != request.to) knots_.push_back({request.to});
    slot_ends_.reserve(knots_.size());
    std::size_t slot = 0;
    for (const Knot& knot : knots_) {
      while (slot < request.slots.size() && !at(knot, request.slots[slot].at)) ++slot;
      slot_ends_.push_back(slot);
    }
  }

  Axis set() {
    Axis axis;
    std::size_t first = 0;
    const std::size_t end = knots_.size() - 1;
    if (extent(0, end, tightest) <= request_.width) {
      axis.rows.push_back(row(0, end, stretch_for(0, end, tightest, widest)));
      return axis;
    }
    double usual = 1;
    while (first < end || axis.rows.empty()) {
      if (axis.rows.size() == request_.most_rows) {
        axis.whole = false;
        break;
      }
      const std::size_t last = row_end(first);
      const bool final = last == end;
      const double stretch =
          stretch_for(first, last, 1, final && !axis.rows.empty() ? std::max(usual, 1.0) : widest);
      if (!final) usual = stretch;
      axis.rows.push_back(row(first, last, stretch));
      first = last;
    }
    return axis;
  }

 private:
  [[nodiscard]] bool is_final(std::size_t last) const { return last + 1 == knots_.size(); }
  [[nodiscard]] std::size_t first_slot(std::size_t knot) const {
    return knot == 0 ? 0 : slot_ends_[knot - 1];
  }

  /// Lays a row out; `keep` takes what came of it. Stops early where it is wider than `limit`.
  template <class Keep>
  double lay(std::size_t first, std::size_t last, double stretch, double limit, Keep& keep) {
    begin_row(knots_[first].at);
    double x = 0;
    keep.point({knots_[first].at, x});
    if (first != last || is_final(last)) place_slots(first, x, keep);
    for (std::size_t k = first + 1; k <= last; ++k) {
      x = next_x(k, x, stretch, keep);
      keep.point({knots_[k].at, x});
      if (k != last || is_final(last)) place_slots(k, x, keep);
      if (std::max(x, furthest_) > limit) break;
    }
    return std::max(x, furthest_);
  }

  void begin_row(sim::Instant at) {
    std::fill(cursors_.begin(), cursors_.end(), 0.0);
    furthest_ = 0;
    if (!request_.opening) return;
    for (const Slot& slot : request_.opening(at)) advance(slot.track, slot.width);
  }

  void advance(std::uint32_t track, double to) {
    cursors_[track] = to + label_gap_px;
    furthest_ = std::max(furthest_, to);
  }

  template <class Keep>
  void place_slots(std::size_t knot, double x, Keep& keep) {
    for (std::size_t i = first_slot(knot); i < slot_ends_[knot]; ++i) {
      const Slot& slot = request_.slots[i];
      const double at = std::max(x, cursors_[slot.track]);
      keep.slot(at);
      advance(slot.track, at + slot.width);
    }
  }

  template <class Keep>
  double next_x(std::size_t k, double x, double stretch, Keep& keep) {
    const sim::Duration time = knots_[k].at - knots_[k - 1].at;
    double next = x + distance_px(time, stretch);
    if (time > break_after) {
      const double half_words = request_.break_width ? request_.break_width(time) / 2 + 4 : 0;
      const double beside = request_.break_track ? cursors_[*request_.break_track] + half_words : 0;
      const double left = std::max({x + (next - x) * 0.45, x + half_words, furthest_ + 3, beside});
      const double right = left + break_px;
      keep.gap({knots_[k - 1].at, knots_[k].at, left, right});
      for (double& cursor : cursors_) cursor = std::max(cursor, right + 3);
      next = std::max({next, right + 6, right + half_words});
    }
    for (std::size_t i = first_slot(k); i < slot_ends_[k]; ++i) {
      next = std::max(next, cursors_[request_.slots[i].track]);
    }
    return next;
  }

  struct KeepNothing {
    void point(const AxisPoint&) const {}
    void gap(const AxisBreak&) const {}
    void slot(double) const {}
  };
  struct KeepRow {
    AxisRow row;
    void point(const AxisPoint& point) { row.points.push_back(point); }
    void gap(const AxisBreak& gap) { row.breaks.push_back(gap); }
    void slot(double x) { row.slot_x.push_back(x); }
  };
  struct KeepPoints {
    std::vector<double> x;
    void point(const AxisPoint& point) { x.push_back(point.x); }
    void gap(const AxisBreak&) const {}
    void slot(double) const {}
  };

  double extent(std::size_t first, std::size_t last, double stretch) {
    KeepNothing nothing;
    return lay(first, last, stretch, request_.width, nothing);
  }

  AxisRow row(std::size_t first, std::size_t last, double stretch) {
    KeepRow keep;
    lay(first, last, stretch, std::numeric_limits<double>::infinity(), keep);
    keep.row.first_slot = first_slot(first);
    return std::move(keep.row);
  }

  /// The largest stretch between the two with which the row fits.
  double stretch_for(std::size_t first, std::size_t last, double least, double most) {
    for (int i = 0; i < 24; ++i) {
      const double middle = (least + most) / 2;
      (extent(first, last, middle) <= request_.width ? least : most) = middle;
    }
    return least;
  }

  /// The knot at which a row that begins at `first` had best end: after the longest wait of those that leave
  /// it full enough. At least one further on, whatever that takes.
  std::size_t row_end(std::size_t first) {
    const std::size_t end = knots_.size() - 1;
    if (extent(first, end, 1) <= request_.width) return end;
    KeepPoints points;
    lay(first, end, 1, request_.width, points);
    // The last point laid, and labels before it, may be what did not fit.
    std::size_t furthest = std::min(first + points.x.size() - 1, end - 1);
    while (furthest > first + 1 && extent(first, furthest, 1) > request_.width) --furthest;
    std::size_t best = 0;
    for (std::size_t k = first + 1; k <= furthest; ++k) {
      if (!knots_[k].may_begin_row) continue;
      const bool full = points.x[k - first] >= full_enough * request_.width;
      const bool better = best == 0 || points.x[best - first] < full_enough * request_.width ||
                          wait_before(k) >= wait_before(best);
      if (best == 0 || (full && better) || (!full && k > best)) best = k;
    }
    return best != 0 ? best : std::max(furthest, first + 1);
  }

  [[nodiscard]] sim::Duration wait_before(std::size_t k) const { return knots_[k].at - knots_[k - 1].at; }

  const AxisRequest& request_;
  std::vector<Knot> knots_;
  std::vector<std::size_t> slot_ends_;  ///< by knot: one past its last slot
  std::vector<double> cursors_;         ///< by track: where the next label may begin
  double furthest_ = 0;
};

}  // namespace

double AxisRow::x(sim::Instant at) const {
  const auto after =
      std::upper_bound(points.begin(), points.end(), at,
                       [](sim::Instant instant, const AxisPoint& point) { return instant < point.at; });
  if (after == points.begin()) return points.front().x;
  if (after == points.end()) return points.back().x;
  const AxisPoint& before = *std::prev(after);
  const double part = sim::seconds(at - before.at) / sim::seconds(after->at - before.at);
  return before.x + (after->x - before.x) * part;
}

const AxisBreak* AxisRow::break_at(sim::Instant at) const {
  for (const AxisBreak& gap : breaks) {
    if (gap.from < at && at < gap.to) return &gap;
  }
  return nullptr;
}

Axis set_axis(const AxisRequest& request) {
  return Setter{request}.set();
}

}  // namespace drybus::tools::picture
