// A picture as data: shapes, labels and what they stand for, with coordinates and without colours. Whoever
// writes it out (SVG, a page) decides how a look is inked; whoever tests it can measure it.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "sim/enumeration.h"
#include "tools/picture/text_width.h"
#include "tools/timeline/timeline.h"

namespace drybus::tools::picture {

struct Point {
  double x = 0;
  double y = 0;
};

/// Upright, y downwards.
struct Box {
  double x = 0;
  double y = 0;
  double width = 0;
  double height = 0;
  [[nodiscard]] double right() const { return x + width; }
  [[nodiscard]] double bottom() const { return y + height; }
};

/// True when the insides have something in common; touching edges do not count.
bool overlap(const Box& a, const Box& b);

/// What a shape looks like. Each look has its own shape or texture, so that colour is never the only
/// difference.
BOOST_DEFINE_FIXED_ENUM_CLASS(Look, std::uint8_t,
                              lane_ground,    ///< where the installer could see it
                              unseen_ground,  ///< nobody stands where this could be seen
                              hidden_ground,  ///< the row of what can never be seen
                              bus_ground, bus_line,
                              time_rule,  ///< upright, at a time that is written above
                              break_gap,  ///< a long stretch, drawn short
                              break_edge,
                              stay,  ///< somebody is at a place
                              walk, wait, press, press_stuck,
                              setup_frame,   ///< in setup
                              setup_left,    ///< what is left of the time-out
                              time_out_end,  ///< it has run out
                              hidden_frame,  ///< around hidden words
                              lamp_dark, lamp_blip, lamp_breathe, lamp_blink, lamp_steady, lamp_refuse, load,
                              load_edge,  ///< its level
                              load_zero, power_cut, telegram, telegram_assign, telegram_beacon,
                              telegram_collided,
                              lead,  ///< from sender to bus, from bus to receivers
                              lead_beacon, lead_lost, head_heard, head_obeyed, head_took, head_ignored,
                              cross,   ///< a telegram ends here
                              length,  ///< arrows beside how long something lasts
                              finding,
                              disc,  ///< around a number
                              eye, pupil, eye_closed,
                              note,  ///< around a letter
                              tick, wrong)
inline constexpr std::size_t look_count = sim::count_of<Look>;

/// Of text, and what it stands on. Every pair that occurs has a contrast of at least 4.5 : 1 (WCAG 2, 1.4.3).
enum class Ink { ink, quiet, hidden, alarm, paper };
enum class Ground { paper, unseen, hidden, bus, alarm };

/// Whether something shows, in a picture whose hidden truth can be covered.
enum class Shown {
  always,
  revealed,  ///< hidden truth: only while it is not covered
  covered,   ///< in its stead
};

/// An SVG path, or a box where `path` is empty.
struct Shape {
  Look look{};
  Box box{};
  std::string path;
};

enum class Anchor { start, middle, end };

struct Label {
  Point at{};  ///< on the baseline
  std::string text;
  TextStyle style{};
  Anchor anchor = Anchor::start;
  Ink ink = Ink::ink;
  Ground ground = Ground::paper;
  Shown shown = Shown::always;
};

/// What the label takes, from ascent to descent.
Box box_of(const Label& label);

/// Layers, from the bottom up.
BOOST_DEFINE_FIXED_ENUM_CLASS(Layer, std::uint8_t, ground, rules, leads, bands, marks, top)
inline constexpr std::size_t layer_count = sim::count_of<Layer>;

/// Shapes that belong together, and what they stand for.
struct Mark {
  Layer layer = Layer::marks;
  Shown shown = Shown::always;
  std::vector<Shape> shapes;
  Telling telling;  ///< empty `what`: an ornament, nothing to ask about
};

struct Picture {
  double width = 0;  ///< of the coordinates, px
  double height = 0;
  double shown_width = 0;  ///< how wide it is to be shown, px; 0: as its coordinates are
  std::string chapter;     ///< of several: which part of the run it is, "0:00.0 to 3:50.1"
  std::string title;
  std::string description;
  std::vector<Mark> marks;
  std::vector<Label> labels;
  std::vector<std::string>
      left_out;  ///< labels that ought to be there and found no room; empty unless something is wrong
};

}  // namespace drybus::tools::picture
