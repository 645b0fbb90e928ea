// A device's lane: presses, mode, lamp, load.
#include <algorithm>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/row.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

std::string times_text(sim::Instant from, sim::Instant to) {
  return from == to ? clock_text(from) : tr("{} to {}", clock_text(from), clock_text(to));
}

/// The word that files have for it, as it is told.
std::string_view lamp_word(Pattern pattern) {
  switch (pattern) {
    case Pattern::dark:
      return in_words_spoken(msg("dark"));
    case Pattern::blip:
      return in_words_spoken(msg("blip"));
    case Pattern::breathe:
      return in_words_spoken(msg("breathe"));
    case Pattern::blink:
      return in_words_spoken(msg("blink"));
    case Pattern::steady:
      return in_words_spoken(msg("steady"));
    case Pattern::refuse:
      return in_words_spoken(msg("refuse"));
  }
  return {};
}

Look lamp_look(Pattern pattern) {
  switch (pattern) {
    case Pattern::dark:
      return Look::lamp_dark;
    case Pattern::blip:
      return Look::lamp_blip;
    case Pattern::breathe:
      return Look::lamp_breathe;
    case Pattern::blink:
      return Look::lamp_blink;
    case Pattern::steady:
      return Look::lamp_steady;
    case Pattern::refuse:
      return Look::lamp_refuse;
  }
  return Look::lamp_dark;
}

double level_at(const std::vector<LevelPoint>& levels, std::size_t segment, sim::Instant at) {
  const LevelPoint& a = levels[segment];
  const LevelPoint& b = levels[segment + 1];
  if (a.at == b.at) return b.level;
  return a.level +
         (b.level - a.level) * std::clamp(sim::seconds(at - a.at) / sim::seconds(b.at - a.at), 0.0, 1.0);
}

}  // namespace

template <class Draw>
void RowDrawer::by_sight(const DeviceLane& lane, sim::Instant from, sim::Instant to, Draw draw) {
  from = std::max(from, span_.from);
  to = std::min(to, span_.to);
  sim::Instant at = from;
  for (const Stretch& sight : lane.in_sight) {
    if (sight.to < at || sight.from > to || (sight.to == at && at < to)) continue;
    if (sight.from > at) draw(at, sight.from, Shown::revealed);
    at = std::max(at, sight.from);
    const sim::Instant end = std::min(sight.to, to);
    draw(at, end, Shown::always);
    at = end;
    if (at == to) return;
  }
  if (at < to || from == to) draw(at, to, Shown::revealed);
}

void RowDrawer::draw_device(const PlacedLane& placed) {
  draw_grounds(placed);
  if (placed.lane.quiet) return;
  draw_captions(placed);
  draw_presses(placed);
  draw_setups(placed);
  draw_lamps(placed);
  draw_load(placed);
  draw_cuts(placed);
}

void RowDrawer::draw_grounds(const PlacedLane& placed) {
  canvas_.draw(Layer::ground, Look::lane_ground, placed.box);
  if (placed.lane.quiet) return;
  by_sight(device(placed), span_.from, span_.to, [&](sim::Instant from, sim::Instant to, Shown shown) {
    if (shown == Shown::always) return;
    canvas_.draw(
        {Layer::ground,
         Shown::always,
         {{Look::unseen_ground, band(from, to, placed.box.y + 1, placed.box.height - 2), {}}},
         {tr("nobody stands where {} could be seen", device(placed).name), times_text(from, to), {}, from}});
  });
  if (placed.hidden.height > 0) {
    Box ground = placed.hidden;
    ground.x -= captions_width;
    ground.width += captions_width;
    canvas_.draw(Layer::ground, Look::hidden_ground, ground);
  }
}

void RowDrawer::draw_captions(const PlacedLane& placed) {
  const auto caption = [&](const Box& row, std::string_view text, Ink ink, Ground ground) {
    if (row.height == 0) return;
    const double y = row.y + (row.height - line_height(caption_style)) / 2 + baseline(caption_style);
    canvas_.write({{plot_left - 8, y},
                   std::string{in_words_spoken(text, "row")},
                   caption_style,
                   Anchor::end,
                   ink,
                   ground});
  };
  caption(placed.pressed, msg_as("row", "pressed"), Ink::quiet, Ground::paper);
  caption(placed.hidden, msg_as("row", "mode"), Ink::hidden, Ground::hidden);
  caption(placed.lamp, msg_as("row", "lamp"), Ink::quiet, Ground::paper);
  caption(placed.load, msg_as("row", "load"), Ink::quiet, Ground::paper);
  if (placed.hidden.height > 0) {
    const Point eye{plot_left - captions_width + 11, placed.hidden.y + placed.hidden.height / 2 - 1};
    canvas_.draw(Layer::marks, Look::eye_closed, closed_eye_path(eye));
  }
}

void RowDrawer::draw_presses(const PlacedLane& placed) {
  const DeviceLane& lane = device(placed);
  for (const PressBand& press : lane.presses) {
    if (!span_.touches(press.down, press.up)) continue;
    Telling telling = tell(press.entry);
    const std::string time = duration_text(press.up - press.down);
    telling.what = press.stuck ? tr("{} {} stuck for {}", lane.name, press.text, time)
                               : tr("{} {} held down for {}", lane.name, press.text, time);
    telling.when = times_text(press.down, press.up);
    const Box block = band(press.down, press.up, placed.pressed.bottom() - 10, 9, 4);
    canvas_.draw({Layer::bands,
                  Shown::always,
                  {{press.stuck ? Look::press_stuck : Look::press, block, {}}},
                  std::move(telling)});
  }
}

void RowDrawer::draw_setups(const PlacedLane& placed) {
  for (const SetupBand& setup : device(placed).setups) {
    if (!span_.touches(setup.from, setup.to)) continue;
    const Box frame = band(setup.from, setup.to, placed.hidden.y, placed.hidden.height);
    std::vector<Point> outline{{frame.x, frame.bottom()}};
    const auto add = [&](sim::Instant at, double left) {
      outline.push_back({std::clamp(x(at), frame.x, frame.right()), frame.bottom() - left * frame.height});
    };
    const sim::Instant from = std::max(setup.from, span_.from);
    const sim::Instant to = std::min(setup.to, span_.to);
    add(from, time_left(setup, from));
    for (const AxisPoint& point : row_.points) {
      if (point.at <= from || point.at > to) continue;
      add(point.at, time_left(setup, point.at - sim::Duration{1}));
      if (point.at < to) add(point.at, time_left(setup, point.at));
    }
    outline.push_back({frame.right(), frame.bottom()});
    Telling telling = tell(setup.entered);
    telling.what = tr("{} in setup; its time-out is {}", device(placed).name, duration_text(setup.time_out));
    if (setup.left != sim::no_entry) telling.what += "; " + tell(setup.left).what;
    telling.when = times_text(setup.from, setup.to);
    canvas_.draw({Layer::bands,
                  Shown::revealed,
                  {{Look::setup_frame, frame, {}}, {Look::setup_left, {}, polygon_path(outline)}},
                  std::move(telling)});
  }
}

void RowDrawer::draw_lamps(const PlacedLane& placed) {
  const DeviceLane& lane = device(placed);
  double last_blip = -1000;
  for (const LampBand& lamp : lane.lamps) {
    if (!span_.touches(lamp.from, lamp.to)) continue;
    if (lamp.pattern == Pattern::blip) draw_blip(placed, lamp, last_blip);
    by_sight(lane, lamp.from, lamp.to, [&](sim::Instant from, sim::Instant to, Shown shown) {
      const Box strip = band(from, to, placed.lamp.y + 2, placed.lamp.height - 4, 0.5);
      const Look look = lamp.pattern == Pattern::blip ? Look::lamp_dark : lamp_look(lamp.pattern);
      Shape shape{look, strip, {}};
      if (look == Look::lamp_dark) {
        const double middle = strip.y + strip.height / 2;
        shape.path = line_path({strip.x, middle}, {strip.right(), middle});
      }
      if (lamp.pattern == Pattern::blip) return canvas_.draw(Layer::bands, shape.look, shape.path, shown);
      Telling telling = tell(lamp.entry);
      telling.what = tr("{}'s lamp: {}", lane.name, lamp_word(lamp.pattern));
      telling.when = times_text(lamp.from, lamp.to);
      canvas_.draw({Layer::bands, shown, {shape}, std::move(telling)});
    });
  }
}

/// Blips that would touch the one before are left out.
void RowDrawer::draw_blip(const PlacedLane& placed, const LampBand& lamp, double& last_x) {
  constexpr double radius = 4.5;
  if (lamp.from < span_.from) return;
  const double at = x(lamp.from) + radius;
  if (at - last_x < 2 * radius + 2) return;
  last_x = at;
  const auto& sights = device(placed).in_sight;
  const bool seen = std::any_of(sights.begin(), sights.end(),
                                [&](const Stretch& s) { return s.from <= lamp.from && lamp.from <= s.to; });
  canvas_.draw({Layer::marks,
                seen ? Shown::always : Shown::revealed,
                {{Look::lamp_blip, {}, circle_path({at, placed.lamp.y + placed.lamp.height / 2}, radius)}},
                tell(lamp.entry)});
}

void RowDrawer::draw_load(const PlacedLane& placed) {
  const Box& row = placed.load;
  if (row.height == 0) return;
  const DeviceLane& lane = device(placed);
  canvas_.draw(Layer::bands, Look::load_zero, line_path({row.x, row.bottom()}, {row.right(), row.bottom()}));
  for (std::size_t i = 0; i + 1 < lane.levels.size(); ++i) {
    const LevelPoint& a = lane.levels[i];
    const LevelPoint& b = lane.levels[i + 1];
    if (a.at == b.at || (a.level == 0 && b.level == 0) || !span_.touches(a.at, b.at)) continue;
    by_sight(lane, a.at, b.at, [&](sim::Instant from, sim::Instant to, Shown shown) {
      if (from == to) return;
      const auto point = [&](sim::Instant at) {
        return Point{x(at), row.bottom() - level_at(lane.levels, i, at) / full_level * row.height};
      };
      std::vector<Point> edge{point(from)};
      for (const AxisPoint& knot : row_.points) {
        if (from < knot.at && knot.at < to && a.level != b.level) edge.push_back(point(knot.at));
      }
      edge.push_back(point(to));
      std::vector<Point> area = edge;
      area.push_back({x(to), row.bottom()});
      area.push_back({x(from), row.bottom()});
      Telling telling = tell(a.entry);
      telling.what = a.level == b.level ? tr("{}'s load at {}", lane.name, percent_text(b.level))
                                        : tr("{}'s load goes from {} to {}", lane.name, percent_text(a.level),
                                             percent_text(b.level));
      telling.when = times_text(a.at, b.at);
      canvas_.draw({Layer::bands,
                    shown,
                    {{Look::load, {}, polygon_path(area)}, {Look::load_edge, {}, polyline_path(edge)}},
                    std::move(telling)});
    });
  }
}

void RowDrawer::draw_cuts(const PlacedLane& placed) {
  for (const PowerCut& cut : device(placed).cuts) {
    if (!span_.touches(cut.from, cut.to)) continue;
    Telling telling = tell(cut.entry);
    telling.when = times_text(cut.from, cut.to);
    canvas_.draw({Layer::bands,
                  Shown::always,
                  {{Look::power_cut, band(cut.from, cut.to, placed.box.y + 2, placed.box.height - 4), {}}},
                  std::move(telling)});
  }
}

}  // namespace drybus::tools::picture
