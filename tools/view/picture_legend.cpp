#include "tools/view/picture_legend.h"

#include <algorithm>
#include <set>

#include "tools/view/picture_glyphs.h"
#include "tools/view/picture_style.h"

namespace drybus::tools::picture {

namespace {

constexpr double sample_width = 46;
constexpr double sample_height = 16;

struct Entry {
  Look look;
  std::string_view words;
  bool hidden;
};

/// In the order in which a page is read.
constexpr Entry entries[] = {
    {Look::press, "a button is down", false},
    {Look::press_stuck, "a button is stuck", false},
    {Look::eye, "the installer looks: as foreseen, or not", false},
    {Look::note, "a remark; its words are listed", false},
    {Look::walk, "somebody walks", false},
    {Look::lamp_dark, "lamp: dark", false},
    {Look::lamp_blip, "lamp: blip, a telegram was heard", false},
    {Look::lamp_breathe, "lamp: breathes, my plate is in setup", false},
    {Look::lamp_blink, "lamp: blinks, in setup", false},
    {Look::lamp_steady, "lamp: steady, identified", false},
    {Look::lamp_refuse, "lamp: refuses", false},
    {Look::load, "load: how bright", false},
    {Look::power_cut, "no power", false},
    {Look::unseen_ground, "grey: nobody stands where this could be seen", false},
    {Look::break_gap, "a long stretch, drawn short; its length is written above. Time is not to scale",
     false},
    {Look::hidden_ground, "hidden: nobody on site can see it", false},
    {Look::setup_left, "in setup; the height is what is left of the time-out", true},
    {Look::time_out_end, "the time-out ran out", true},
    {Look::hidden_frame, "stored address, or channel", true},
    {Look::telegram, "a telegram on the bus", true},
    {Look::telegram_assign, "an assign: it offers an address", true},
    {Look::telegram_beacon, "a beacon: a plate is in setup", true},
    {Look::telegram_collided, "telegrams broke each other", true},
    {Look::head_heard, "heard, and no more", true},
    {Look::head_obeyed, "heard and obeyed", true},
    {Look::head_took, "took the address", true},
    {Look::head_ignored, "ignored: not in setup", true},
    {Look::cross, "lost: it never arrived", true},
    {Look::finding, "out of step; numbered, in words beside", true},
};

std::set<Look> looks_of(const Picture& picture) {
  std::set<Look> looks;
  for (const Mark& mark : picture.marks) {
    for (const Shape& shape : mark.shapes) looks.insert(shape.look);
  }
  return looks;
}

/// A sample of a look, as pictures draw it.
std::vector<Shape> sample(Look look, double x, double y) {
  const double middle = y + sample_height / 2;
  const double centre = x + sample_width / 2;
  const Box whole{x, y, sample_width, sample_height};
  switch (look) {
    case Look::press:
    case Look::press_stuck:
      return {{look, {x + 8, middle - 4.5, 30, 9}, {}}};
    case Look::eye:
      return {{look, {}, eye_path({x + 12, middle})},
              {Look::pupil, {}, pupil_path({x + 12, middle})},
              {Look::tick, {}, tick_path({x + 28, middle}, 4)},
              {Look::wrong, {}, cross_path({x + 40, middle}, 4)}};
    case Look::note:
      return {{look, {}, circle_path({centre, middle}, 8)}};
    case Look::walk:
    case Look::lamp_dark:
      return {{look, {}, line_path({x, middle}, {x + sample_width, middle})}};
    case Look::lamp_blip:
      return {{Look::lamp_dark, {}, line_path({x, middle}, {x + sample_width, middle})},
              {look, {}, circle_path({centre, middle}, 4.5)}};
    case Look::break_gap:
      return {{look, {centre - 4.5, y, 9, sample_height}, {}},
              {Look::break_edge, {}, zigzag_path(centre - 4.5, y, y + sample_height)},
              {Look::break_edge, {}, zigzag_path(centre + 4.5, y, y + sample_height)}};
    case Look::hidden_ground:
      return {{look, whole, {}}, {Look::eye_closed, {}, closed_eye_path({centre, middle - 1})}};
    case Look::setup_left: {
      const Point taper[] = {{x, whole.bottom()}, {x, y}, {whole.right(), whole.bottom()}};
      return {{Look::setup_frame, whole, {}}, {look, {}, polygon_path(taper)}};
    }
    case Look::time_out_end:
      return {{look, {}, hourglass_path({centre, middle}, 7)}};
    case Look::telegram:
    case Look::telegram_assign:
      return {{look, {centre - 3, y - 1, 6, 18}, {}}};
    case Look::telegram_beacon:
      return {{look, {centre - 1, middle - 4.5, 2, 9}, {}}};
    case Look::telegram_collided:
      return {{look, {}, jagged_path({centre - 9, y, 18, sample_height})}};
    case Look::head_heard:
      return {{Look::lead, {}, line_path({centre, y - 3}, {centre, middle})},
              {look, {}, circle_path({centre, middle}, 3.2)}};
    case Look::head_obeyed:
      return {{Look::lead, {}, line_path({centre, y - 3}, {centre, middle})},
              {look, {}, arrow_path({centre, middle + 5}, true, 9)}};
    case Look::head_took:
      return {{Look::lead, {}, line_path({centre, y - 3}, {centre, middle})},
              {look, {}, arrow_path({centre, middle + 7}, true, 13)}};
    case Look::head_ignored:
      return {{Look::lead, {}, line_path({centre, y - 3}, {centre, middle})},
              {look,
               {},
               arrow_path({centre, middle + 5}, true, 9) +
                   line_path({centre - 8, middle + 6}, {centre + 8, middle + 6})}};
    case Look::cross:
      return {{Look::lead_lost, {}, line_path({centre, y - 4}, {centre, middle})},
              {look, {}, cross_path({centre, middle + 2}, 5)}};
    case Look::finding:
      return {{look, {x, middle - 2.5, sample_width, 5}, {}}};
    default:
      return {{look, whole, {}}};
  }
}

}  // namespace

double draw_legend(Canvas& canvas, double left, double width, double top, bool hide_hidden) {
  const std::set<Look> looks = looks_of(canvas.picture());
  double y = top;
  for (const Entry& entry : entries) {
    if (looks.count(entry.look) == 0 || (hide_hidden && entry.hidden)) continue;
    const Shown shown = entry.hidden ? Shown::revealed : Shown::always;
    canvas.draw({Layer::marks, shown, sample(entry.look, left, y + 1), {}});
    for (const std::string& line : lines_within(entry.words, width - sample_width - 12, second_style)) {
      canvas.write({{left + sample_width + 12, y + baseline(second_style)},
                    line,
                    second_style,
                    Anchor::start,
                    Ink::ink,
                    Ground::paper,
                    shown});
      y += line_height(second_style);
    }
    y += 7;
  }
  return y;
}

}  // namespace drybus::tools::picture
