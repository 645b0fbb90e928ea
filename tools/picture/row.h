// One row of a picture: the axis with its lanes below it. Its parts are drawn by several files; this is what
// they share.
#pragma once

#include <map>
#include <optional>
#include <vector>

#include "tools/picture/canvas.h"
#include "tools/picture/lanes.h"
#include "tools/picture/plan.h"
#include "tools/picture/style.h"

namespace drybus::tools::picture {

/// What a picture is made of.
struct Source {
  const model::Scenario& scenario;
  const sim::Record& record;
  const Timeline& timeline;
};

/// A drawn lane with its place on the page. Rows that it does not have are empty boxes.
struct PlacedLane {
  DrawnLane lane;
  Box box;      ///< from the left page margin to the right one
  Box pressed;  ///< rows: within the plot
  Box hidden;
  Box lamp;
  Box load;
};

/// How high things are, px.
struct RowSizes {
  double clock = 26;
  double person = 30;
  double bus = 62;
  double lane_gap = 5;
  double lane_padding = 4;
  double row_gap = 3;
  double pressed = 31;
  double hidden = 27;
  double lamp = 17;
  double load = 20;
  double quiet = 28;
  double tier = 34;  ///< of a finding
};
RowSizes row_sizes(bool compact);

/// What a lane takes, with the gap below it.
double height_of(const DrawnLane& lane, const Timeline& timeline, const RowSizes& sizes);

class RowDrawer {
 public:
  RowDrawer(const Source& source, const Plan& plan, const AxisRow& row, const Span& span,
            const LaneChoice& lanes, const PictureOptions& options, Canvas& canvas);

  /// Draws the row with its top at `top`; answers where it ends.
  double draw(double top);

 private:
  // picture_row.cpp: places, axis, people, words
  void place_lanes(double top);
  PlacedLane placed(const DrawnLane& lane, double top) const;
  void draw_names(const PlacedLane& placed);
  void draw_person(std::size_t person);
  void draw_breaks();
  void draw_clock();
  void draw_rule(double place);
  void write_sayings();
  void write_asides();
  [[nodiscard]] std::vector<double> rooms_for_sayings() const;
  void write_opening(std::uint32_t track);
  void write_saying(const Saying& saying, double x);
  [[nodiscard]] std::optional<double> track_top(std::uint32_t track) const;
  [[nodiscard]] Ground track_ground(std::uint32_t track) const;
  [[nodiscard]] std::vector<sim::Instant> times_worth_telling() const;

  // picture_device.cpp
  void draw_device(const PlacedLane& placed);
  void draw_grounds(const PlacedLane& placed);
  void draw_captions(const PlacedLane& placed);
  void draw_presses(const PlacedLane& placed);
  void draw_setups(const PlacedLane& placed);
  void draw_lamps(const PlacedLane& placed);
  void draw_blip(const PlacedLane& placed, const LampBand& lamp, double& last_x);
  void draw_load(const PlacedLane& placed);
  void draw_cuts(const PlacedLane& placed);
  /// Draws a band where it can be seen as seen, elsewhere as hidden.
  template <class Draw>
  void by_sight(const DeviceLane& lane, sim::Instant from, sim::Instant to, Draw draw);

  // picture_bus.cpp
  void draw_bus();
  void draw_telegram(const TelegramMark& telegram);
  void draw_leads(const TelegramMark& telegram, Mark& mark);
  void draw_side(const TelegramMark& telegram, bool up, Mark& mark);
  void label_telegrams();
  void label_beacons();
  [[nodiscard]] bool in_break(sim::Instant at) const { return row_.break_at(at) != nullptr; }

  // picture_findings.cpp
  double draw_findings(double top);

  [[nodiscard]] double x(sim::Instant at) const { return plot_left + row_.x(at); }
  [[nodiscard]] double plot_width() const { return canvas_.width() - plot_left - page_margin; }
  [[nodiscard]] double plot_right() const { return canvas_.width() - page_margin; }
  /// From one moment to another, cut to the row, and wide enough to be seen.
  [[nodiscard]] Box band(sim::Instant from, sim::Instant to, double y, double height,
                         double at_least = 2) const;
  [[nodiscard]] Telling tell(sim::EntryId entry) const {
    return telling(source_.scenario, source_.record, entry);
  }
  [[nodiscard]] const DeviceLane& device(const PlacedLane& placed) const {
    return source_.timeline.devices[placed.lane.first()];
  }
  [[nodiscard]] const PlacedLane* lane_of(model::DeviceId device) const;

  const Source& source_;
  const Timeline& timeline_;
  const Plan& plan_;
  const AxisRow& row_;
  Span span_;
  const LaneChoice& choice_;
  RowSizes sizes_;
  Canvas& canvas_;

  Box clock_;
  std::vector<Box> people_;
  std::vector<PlacedLane> lanes_;        ///< from the top down
  std::vector<std::size_t> lane_index_;  ///< by device; none: not drawn
  Box bus_;
  double bottom_ = 0;       ///< of the lanes
  double plot_bottom_ = 0;  ///< of those that something happened to
};

}  // namespace drybus::tools::picture
