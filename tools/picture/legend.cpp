#include "tools/picture/legend.h"

#include <algorithm>
#include <cmath>
#include <set>

#include "model/words/words.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/style.h"

namespace drybus::tools::picture {

namespace {

constexpr double sample_width = 40;
constexpr double sample_height = 16;
constexpr double sample_gap = 9;
constexpr double entry_gap = 4;
constexpr double column_gap = 22;
constexpr double narrowest_column = 288;

using model::msg;

using Shapes = std::vector<Shape>;

/// Where a sample is drawn.
struct Spot {
  Box whole;
  [[nodiscard]] double middle() const { return whole.y + whole.height / 2; }
  [[nodiscard]] double centre() const { return whole.x + whole.width / 2; }
};

// --- samples, drawn as the rows draw them ---

Shapes box_sample(Look look, const Spot& spot) {
  return {{look, spot.whole, {}}};
}

Shapes strip_sample(Look look, const Spot& spot) {
  return {{look, {spot.whole.x, spot.middle() - 6.5, sample_width, 13}, {}}};
}

Shapes press_sample(Look look, const Spot& spot) {
  return {{look, {spot.whole.x + 5, spot.middle() - 4.5, 30, 9}, {}}};
}

Shapes line_sample(Look look, const Spot& spot) {
  return {{look, {}, line_path({spot.whole.x, spot.middle()}, {spot.whole.right(), spot.middle()})}};
}

Shapes glance_sample(Look look, const Spot& spot) {
  const double x = spot.whole.x;
  return {{look, {}, eye_path({x + 12, spot.middle()})},
          {Look::pupil, {}, pupil_path({x + 12, spot.middle()})},
          {Look::tick, {}, tick_path({x + 28, spot.middle()}, 4)},
          {Look::wrong, {}, cross_path({x + 38, spot.middle()}, 4)}};
}

Shapes note_sample(Look look, const Spot& spot) {
  return {{look, {}, circle_path({spot.centre(), spot.middle()}, 8)}};
}

Shapes blip_sample(Look look, const Spot& spot) {
  Shapes shapes = line_sample(Look::lamp_dark, spot);
  shapes.push_back({look, {}, circle_path({spot.centre(), spot.middle()}, 4.5)});
  return shapes;
}

Shapes load_sample(Look look, const Spot& spot) {
  const Box& w = spot.whole;
  const Point edge[] = {{w.x, w.bottom()}, {w.x + 16, w.y}, {w.right(), w.y}};
  const Point area[] = {edge[0], edge[1], edge[2], {w.right(), w.bottom()}};
  return {{look, {}, polygon_path(area)}, {Look::load_edge, {}, polyline_path(edge)}};
}

Shapes break_sample(Look look, const Spot& spot) {
  const Box& w = spot.whole;
  return {{look, {spot.centre() - 4, w.y, 8, w.height}, {}},
          {Look::break_edge, {}, zigzag_path(spot.centre() - 4, w.y, w.bottom())},
          {Look::break_edge, {}, zigzag_path(spot.centre() + 4, w.y, w.bottom())}};
}

Shapes hidden_sample(Look look, const Spot& spot) {
  return {{look, spot.whole, {}},
          {Look::eye_closed, {}, closed_eye_path({spot.centre(), spot.middle() - 1})}};
}

Shapes setup_sample(Look look, const Spot& spot) {
  const Box& w = spot.whole;
  const Point taper[] = {{w.x, w.bottom()}, {w.x, w.y}, {w.right(), w.bottom()}};
  return {{Look::setup_frame, w, {}}, {look, {}, polygon_path(taper)}};
}

Shapes hourglass_sample(Look look, const Spot& spot) {
  return {{look, {}, hourglass_path({spot.centre(), spot.middle()}, 7)}};
}

Shapes telegram_sample(Look look, const Spot& spot) {
  return {{look, {spot.centre() - 3, spot.whole.y - 1, 6, 18}, {}}};
}

Shapes beacon_sample(Look look, const Spot& spot) {
  return {{look, {spot.centre() - 1, spot.middle() - 4.5, 2, 9}, {}}};
}

Shapes collision_sample(Look look, const Spot& spot) {
  return {{look, {}, jagged_path({spot.centre() - 9, spot.whole.y, 18, sample_height})}};
}

Shapes lead_to(const Spot& spot, Look lead, Shape head) {
  return {{lead, {}, line_path({spot.centre(), spot.whole.y - 2}, {spot.centre(), spot.middle()})},
          std::move(head)};
}

Shapes heard_sample(Look look, const Spot& spot) {
  return lead_to(spot, Look::lead, {look, {}, circle_path({spot.centre(), spot.middle()}, 3.2)});
}

Shapes obeyed_sample(Look look, const Spot& spot) {
  return lead_to(spot, Look::lead, {look, {}, arrow_path({spot.centre(), spot.middle() + 5}, true, 9)});
}

Shapes took_sample(Look look, const Spot& spot) {
  return lead_to(spot, Look::lead, {look, {}, arrow_path({spot.centre(), spot.middle() + 7}, true, 13)});
}

Shapes ignored_sample(Look look, const Spot& spot) {
  const double x = spot.centre();
  const double y = spot.middle() + 5;
  return lead_to(spot, Look::lead,
                 {look, {}, arrow_path({x, y}, true, 9) + line_path({x - 8, y + 1}, {x + 8, y + 1})});
}

Shapes cross_sample(Look look, const Spot& spot) {
  return lead_to(spot, Look::lead_lost, {look, {}, cross_path({spot.centre(), spot.middle() + 2}, 5)});
}

Shapes length_sample(Look look, const Spot& spot) {
  return {{look,
           {},
           pointer_path({spot.centre() - 4, spot.middle()}, {spot.whole.x, spot.middle()}) +
               pointer_path({spot.centre() + 4, spot.middle()}, {spot.whole.right(), spot.middle()})}};
}

Shapes rule_sample(Look look, const Spot& spot) {
  return {{look, {}, line_path({spot.centre(), spot.whole.y - 2}, {spot.centre(), spot.whole.bottom() + 1})}};
}

Shapes finding_sample(Look look, const Spot& spot) {
  return {{look, {spot.whole.x, spot.middle() - 2.5, sample_width, 5}, {}}};
}

struct Entry {
  Look look;
  std::string_view words;
  bool hidden;
  Shapes (*sample)(Look look, const Spot& spot);
};

/// In the order in which a page is read.
constexpr Entry entries[] = {
    {Look::time_rule, msg("4:02.5, a line: a clock time"), false, rule_sample},
    {Look::length, msg("172 s: how long it is"), false, length_sample},
    {Look::press, msg("a button is down"), false, press_sample},
    {Look::press_stuck, msg("a button is stuck"), false, press_sample},
    {Look::eye, msg("a look: as foreseen, or not"), false, glance_sample},
    {Look::note, msg("a remark or a question"), false, note_sample},
    {Look::walk, msg("on the way"), false, line_sample},
    {Look::lamp_dark, msg("lamp: dark"), false, line_sample},
    {Look::lamp_blip, msg("lamp: blip, heard a telegram"), false, blip_sample},
    {Look::lamp_breathe, msg("lamp: breathes, plate in setup"), false, strip_sample},
    {Look::lamp_blink, msg("lamp: blinks, in setup"), false, strip_sample},
    {Look::lamp_steady, msg("lamp: steady, identified"), false, strip_sample},
    {Look::lamp_refuse, msg("lamp: refuses"), false, strip_sample},
    {Look::load, msg("load: how bright it is"), false, load_sample},
    {Look::power_cut, msg("no power"), false, box_sample},
    {Look::unseen_ground, msg("grey: nobody is there to see it"), false, box_sample},
    {Look::break_gap, msg("a long wait, drawn short"), false, break_sample},
    {Look::hidden_ground, msg("hidden from everybody on site"), false, hidden_sample},
    {Look::setup_left, msg("in setup; height: time left"), true, setup_sample},
    {Look::time_out_end, msg("the time-out ran out"), true, hourglass_sample},
    {Look::hidden_frame, msg("in memory; a plate's channel"), true, box_sample},
    {Look::telegram, msg("a telegram"), true, telegram_sample},
    {Look::telegram_assign, msg("an assign: it offers an address"), true, telegram_sample},
    {Look::telegram_beacon, msg("a beacon: a plate is in setup"), true, beacon_sample},
    {Look::telegram_collided, msg("broken on the bus"), true, collision_sample},
    {Look::head_heard, msg("heard, and no more"), true, heard_sample},
    {Look::head_obeyed, msg("obeyed"), true, obeyed_sample},
    {Look::head_took, msg("took the address"), true, took_sample},
    {Look::head_ignored, msg("ignored: not in setup"), true, ignored_sample},
    {Look::cross, msg("lost: it never arrived"), true, cross_sample},
    {Look::finding, msg("out of step; see its number"), true, finding_sample},
};

struct Explained {
  const Entry* entry;
  std::vector<std::string> lines;
  [[nodiscard]] double height() const {
    return static_cast<double>(lines.size()) * line_height(caption_style) + entry_gap;
  }
};

void draw_entry(Canvas& canvas, const Explained& explained, double left, double top) {
  const Shown shown = explained.entry->hidden ? Shown::revealed : Shown::always;
  const Spot spot{{left, top + 1, sample_width, sample_height}};
  canvas.draw({Layer::marks, shown, explained.entry->sample(explained.entry->look, spot), {}});
  double y = top;
  for (const std::string& line : explained.lines) {
    canvas.write({{left + sample_width + sample_gap, y + baseline(caption_style)},
                  line,
                  caption_style,
                  Anchor::start,
                  Ink::ink,
                  Ground::paper,
                  shown});
    y += line_height(caption_style);
  }
}

}  // namespace

std::set<Look> looks_of(const Picture& picture) {
  std::set<Look> looks;
  for (const Mark& mark : picture.marks) {
    for (const Shape& shape : mark.shapes) looks.insert(shape.look);
  }
  return looks;
}

double draw_legend(Canvas& canvas, const std::set<Look>& looks, double left, double width, double top,
                   bool hide_hidden) {
  const auto columns = std::max(1.0, std::floor((width + column_gap) / (narrowest_column + column_gap)));
  const double column_width = (width - column_gap * (columns - 1)) / columns;
  std::vector<Explained> all;
  double total = 0;
  for (const Entry& entry : entries) {
    if (!looks.contains(entry.look) || (hide_hidden && entry.hidden)) continue;
    all.push_back({&entry, lines_within(model::in_words_spoken(entry.words),
                                        column_width - sample_width - sample_gap, caption_style)});
    total += all.back().height();
  }
  double x = left;
  double y = top;
  double end = top;
  for (const Explained& explained : all) {
    // The last column takes what is left, whatever its length.
    const bool last = x + 2 * column_width + column_gap > left + width + 1;
    if (!last && y > top && y - top + explained.height() / 2 > total / columns) {
      x += column_width + column_gap;
      y = top;
    }
    draw_entry(canvas, explained, x, y);
    y += explained.height();
    end = std::max(end, y);
  }
  return end;
}

}  // namespace drybus::tools::picture
