#include "tools/picture/row.h"

#include <algorithm>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/picture/glyphs.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr double clock_gap = 7;  ///< between times, so that none runs into the next
constexpr std::size_t no_lane = static_cast<std::size_t>(-1);

constexpr std::size_t few_people = 4;  ///< all are drawn; of more, those who do something

/// Whether somebody goes about, looks or says something within the span.
bool is_busy(const PersonLane& lane, const Span& span) {
  const auto begins = [&](const auto& each) { return span.holds(each.at); };
  const auto lasts = [&](const auto& each) { return span.touches(each.from, each.to); };
  return std::any_of(lane.walks.begin(), lane.walks.end(), lasts) ||
         std::any_of(lane.waits.begin(), lane.waits.end(), lasts) ||
         std::any_of(lane.glances.begin(), lane.glances.end(), begins) ||
         std::any_of(lane.notes.begin(), lane.notes.end(), begins);
}

/// A line beside a lane that says whose it is.
struct NameLine {
  std::string text;
  TextStyle style;
  Ink ink = Ink::ink;
};

/// A name in pieces that fit beside a lane, where its hyphens allow that.
std::vector<std::string> broken_at_hyphens(const std::string& name) {
  std::vector<std::string> pieces(name.empty() ? 0 : 1);
  for (std::size_t at = 0; at < name.size();) {
    const std::size_t end = std::min(name.find('-', at), name.size() - 1) + 1;
    const std::string piece = name.substr(at, end - at);
    if (text_width(pieces.back() + piece, caption_style) > names_width && !pieces.back().empty())
      pieces.emplace_back();
    pieces.back() += piece;
    at = end;
  }
  return pieces;
}

/// `at` is when the row begins: switches may have been set since the run began.
std::vector<NameLine> name_lines(const DrawnLane& drawn, const Timeline& timeline, sim::Instant at) {
  const DeviceLane& lane = timeline.devices[drawn.first()];
  const bool alone = drawn.devices.size() == 1;
  const std::string name = alone ? lane.name : names_text(timeline, drawn.devices, 2);
  const TextStyle style = text_width(name, name_style) <= names_width ? name_style : second_strong_style;
  std::vector<NameLine> lines;
  for (const std::string& line : lines_within(name, names_width, style, 2)) lines.push_back({line, style});
  if (!alone) {
    lines.push_back({tr("alike"), second_style, Ink::quiet});
    return lines;
  }
  for (const std::string& line : lines_within(lane.label, names_width, second_style, 2))
    lines.push_back({line, second_style});
  const auto caption = [&](const std::string& text) {
    if (!text.empty()) lines.push_back({fitted(text, names_width, caption_style), caption_style, Ink::quiet});
  };
  caption(set_to_at(lane, at));
  caption(lane.intended.empty() ? "" : tr("intended {}", lane.intended));
  for (const std::string& line : broken_at_hyphens(lane.family)) caption(line);
  if (timeline.people.front().stays.size() > 1) caption(tr("in {}", lane.place));
  return lines;
}

}  // namespace

RowSizes row_sizes(bool compact) {
  if (!compact) return {};
  return {.clock = 23,
          .person = 28,
          .bus = 45,
          .lane_gap = 4,
          .lane_padding = 3,
          .row_gap = 2,
          .pressed = 29,
          .hidden = 25,
          .lamp = 14,
          .load = 15,
          .quiet = 25,
          .tier = 31};
}

double height_of(const DrawnLane& lane, const Timeline& timeline, const RowSizes& sizes) {
  double rows = 0;
  const auto add = [&](bool has, double height) { rows += has ? height + sizes.row_gap : 0; };
  add(lane.pressed_row, sizes.pressed);
  add(lane.hidden_row, sizes.hidden);
  add(!lane.quiet, sizes.lamp);
  add(lane.load_row, sizes.load);
  double names = lane.quiet ? sizes.quiet : 6;
  if (!lane.quiet) {
    for (const NameLine& line : name_lines(lane, timeline, sim::start_of_run))
      names += line_height(line.style);
  }
  return std::max(rows - sizes.row_gap + 2 * sizes.lane_padding, names) + sizes.lane_gap;
}

RowDrawer::RowDrawer(const Source& source, const Plan& plan, const AxisRow& row, const Span& span,
                     const LaneChoice& lanes, const PictureOptions& options, Canvas& canvas)
    : source_(source),
      timeline_(source.timeline),
      plan_(plan),
      row_(row),
      span_(span),
      choice_(lanes),
      sizes_(row_sizes(options.compact)),
      canvas_(canvas) {}

double RowDrawer::draw(double top) {
  place_lanes(top);
  draw_breaks();
  for (std::size_t i = 0; i < people_.size(); ++i) draw_person(i);
  for (const PlacedLane& lane : lanes_) draw_names(lane);
  write_sayings();
  write_asides();
  for (const PlacedLane& lane : lanes_) draw_device(lane);
  if (!timeline_.only_seen) draw_bus();
  const double end = draw_findings(bottom_ + sizes_.lane_gap);
  draw_clock();
  return end;
}

// --- places ---

void RowDrawer::place_lanes(double top) {
  clock_ = {plot_left, top, plot_width(), sizes_.clock};
  double y = clock_.bottom() + 2;
  std::size_t idle = 0;
  for (std::size_t i = 0; i < timeline_.people.size(); ++i) {
    const bool shown = timeline_.people.size() <= few_people || i == 0 || is_busy(timeline_.people[i], span_);
    people_.push_back({page_margin, y, canvas_.width() - 2 * page_margin, shown ? sizes_.person : 0});
    if (shown) y += sizes_.person + sizes_.lane_gap;
    idle += shown ? 0 : 1;
  }
  if (idle != 0) {
    canvas_.write({{page_margin + 4, y + 2 + baseline(second_style)},
                   plural("and {} other who stays where they are", "and {} others who stay where they are",
                          static_cast<std::uint64_t>(idle), idle),
                   second_style});
    y += line_height(second_style) + sizes_.lane_gap;
  }
  lane_index_.assign(timeline_.devices.size(), no_lane);
  const auto place = [&](const std::vector<DrawnLane>& lanes) {
    for (const DrawnLane& lane : lanes) {
      for (const DeviceId device : lane.devices) lane_index_[device] = lanes_.size();
      lanes_.push_back(placed(lane, y));
      y = lanes_.back().box.bottom() + sizes_.lane_gap;
    }
  };
  place(choice_.above);
  if (!timeline_.only_seen) {
    bus_ = {page_margin, y, canvas_.width() - 2 * page_margin, sizes_.bus};
    y = bus_.bottom() + sizes_.lane_gap;
  }
  place(choice_.below);
  bottom_ = y - sizes_.lane_gap;
  const bool quiet = !lanes_.empty() && lanes_.back().lane.quiet;
  plot_bottom_ = quiet ? lanes_.back().box.y - sizes_.lane_gap : bottom_;
}

PlacedLane RowDrawer::placed(const DrawnLane& lane, double top) const {
  PlacedLane placed{lane, {}, {}, {}, {}, {}};
  double y = top + sizes_.lane_padding;
  const auto add = [&](Box& box, double height) {
    box = {plot_left, y, plot_width(), height};
    y += height + sizes_.row_gap;
  };
  if (lane.pressed_row) add(placed.pressed, sizes_.pressed);
  if (lane.hidden_row) add(placed.hidden, sizes_.hidden);
  if (!lane.quiet) add(placed.lamp, sizes_.lamp);
  if (lane.load_row) add(placed.load, sizes_.load);
  const double height = height_of(lane, timeline_, sizes_) - sizes_.lane_gap;
  placed.box = {page_margin, top, canvas_.width() - 2 * page_margin, height};
  return placed;
}

const PlacedLane* RowDrawer::lane_of(DeviceId device) const {
  return lane_index_[device] == no_lane ? nullptr : &lanes_[lane_index_[device]];
}

Box RowDrawer::band(sim::Instant from, sim::Instant to, double y, double height, double at_least) const {
  const double left = x(std::max(from, span_.from));
  const double right = std::max(x(std::min(to, span_.to)), left + at_least);
  return {left, y, right - left, height};
}

// --- names ---

void RowDrawer::draw_names(const PlacedLane& placed) {
  if (placed.lane.quiet) {
    const std::size_t count = placed.lane.devices.size();
    const bool all = count == timeline_.devices.size();
    std::string text = all ? plural("All {} devices: nothing happened to it here",
                                    "All {} devices: nothing happened to them here", count, count)
                           : plural("and {} other: nothing happened to it here",
                                    "and {} others: nothing happened to them here", count, count);
    if (choice_.left_out != 0) text += tr("; {} more to which something did found no room", choice_.left_out);
    canvas_.write({{page_margin + 4, placed.box.y + 4 + baseline(main_style)}, text, main_style});
    return;
  }
  double y = placed.box.y + 3;
  for (const NameLine& line : name_lines(placed.lane, timeline_, span_.from)) {
    if (y + line_height(line.style) > placed.box.bottom()) return;
    canvas_.write(
        {{page_margin + 4, y + baseline(line.style)}, line.text, line.style, Anchor::start, line.ink});
    y += line_height(line.style);
  }
}

// --- people ---

void RowDrawer::draw_person(std::size_t person) {
  const Box& box = people_[person];
  if (box.height == 0) return;
  const PersonLane& lane = timeline_.people[person];
  canvas_.write({{box.x + 4, box.y + 4 + baseline(main_style)},
                 fitted(lane.name, names_width + captions_width - 4, main_style),
                 main_style});
  for (const Stay& stay : lane.stays) {
    if (!span_.touches(stay.from, stay.to)) continue;
    canvas_.draw({Layer::bands,
                  Shown::always,
                  {{Look::stay, band(stay.from, stay.to, box.y, box.height), {}}},
                  {tr("{} is at {}", lane.name, stay.place),
                   tr("{} to {}", clock_text(stay.from), clock_text(stay.to)),
                   {},
                   stay.from}});
  }
  for (const Walk& walk : lane.walks) {
    if (!span_.touches(walk.from, walk.to)) continue;
    const Box way = band(walk.from, walk.to, box.y, box.height);
    canvas_.draw({Layer::bands,
                  Shown::always,
                  {{Look::walk, {}, line_path({way.x, box.bottom() - 3}, {way.right(), box.bottom() - 3})}},
                  tell(walk.entry)});
  }
  for (const Wait& wait : lane.waits) {
    if (!span_.touches(wait.from, wait.to)) continue;
    const Box rest = band(wait.from, wait.to, box.bottom() - 5, 4);
    canvas_.draw({Layer::bands, Shown::always, {{Look::wait, rest, {}}}, tell(wait.entry)});
  }
}

// --- breaks and the clock ---

void RowDrawer::draw_breaks() {
  for (const AxisBreak& gap : row_.breaks) {
    const double left = plot_left + gap.left;
    const double right = plot_left + gap.right;
    const std::string words = break_text(gap.to - gap.from);
    const double middle = (left + right) / 2;
    const double half = text_width(words, second_strong_style) / 2;
    const double level = clock_.y + 3 + line_height(second_strong_style) / 2;
    canvas_.write(
        {{middle, clock_.y + 3 + baseline(second_strong_style)}, words, second_strong_style, Anchor::middle});
    canvas_.draw(Layer::marks, Look::length,
                 pointer_path({middle - half - 3, level}, {middle - half - break_arrow_width, level}) +
                     pointer_path({middle + half + 3, level}, {middle + half + break_arrow_width, level}));
    canvas_.reserve({middle - half - break_arrow_width, level - 4, 2 * (half + break_arrow_width), 8});
    const Box column{left, clock_.bottom(), right - left, plot_bottom_ - clock_.bottom()};
    canvas_.reserve(column);
    canvas_.draw({Layer::top,
                  Shown::always,
                  {{Look::break_gap, column, {}},
                   {Look::break_edge, {}, zigzag_path(left, column.y, column.bottom())},
                   {Look::break_edge, {}, zigzag_path(right, column.y, column.bottom())}},
                  {tr("{} drawn short", words),
                   tr("{} to {}", clock_text(gap.from), clock_text(gap.to)),
                   {},
                   gap.from}});
  }
}

std::vector<sim::Instant> RowDrawer::times_worth_telling() const {
  std::vector<sim::Instant> times{span_.from, span_.to};
  for (const DeviceLane& lane : timeline_.devices) {
    for (const SetupBand& band : lane.setups) {
      times.push_back(band.to);
      times.push_back(band.from);
    }
  }
  for (const TelegramMark& telegram : timeline_.telegrams) {
    if (telegram.telegram.kind == TelegramKind::assign ||
        (!telegram.beacon() && telegram.lost_by_somebody())) {
      times.push_back(telegram.begin);
    }
  }
  for (const DeviceLane& lane : timeline_.devices) {
    for (const PowerCut& cut : lane.cuts) times.insert(times.end(), {cut.from, cut.to});
    for (const DeviceMark& mark : lane.marks) {
      if (mark.kind == DeviceMark::Kind::switches) times.push_back(mark.at);
    }
  }
  for (const LinkMark& link : timeline_.links) times.push_back(link.at);
  for (const PersonLane& lane : timeline_.people) {
    for (const Walk& walk : lane.walks) times.insert(times.end(), {walk.from, walk.to});
  }
  for (const DeviceLane& lane : timeline_.devices) {
    for (const PressBand& press : lane.presses) times.push_back(press.down);
  }
  return times;
}

void RowDrawer::draw_clock() {
  for (const sim::Instant at : times_worth_telling()) {
    if (at != span_.to && !span_.holds(at)) continue;
    const double place = x(at);
    const std::string text = clock_text(at);
    const double width = text_width(text, second_style);
    const double left = std::min(place + 2, plot_right() - width);
    const double y = clock_.y + 3 + baseline(second_style);
    if (!canvas_.is_free({left - clock_gap, clock_.y + 4, width + 2 * clock_gap, 8})) continue;
    canvas_.write({{left, y}, text, second_style, Anchor::start, Ink::quiet});
    draw_rule(place);
  }
}

/// From beside the time down through everything.
void RowDrawer::draw_rule(double place) {
  canvas_.draw(Layer::rules, Look::time_rule, line_path({place, clock_.y + 4}, {place, plot_bottom_}));
}

// --- words ---

std::optional<double> RowDrawer::track_top(std::uint32_t track) const {
  const std::size_t people = timeline_.people.size();
  if (track < people) return people_[track].height == 0 ? std::nullopt : std::optional{people_[track].y + 4};
  if (track == plan_.tracks.bus()) return bus_.y + 2;
  if (track == plan_.tracks.clock()) return clock_.y + 1;
  const auto device = static_cast<DeviceId>((track - people) / 2);
  const PlacedLane* lane = lane_of(device);
  if (lane == nullptr || lane->lane.first() != device) return std::nullopt;
  const Box& row = track == plan_.tracks.pressed(device) ? lane->pressed : lane->hidden;
  if (row.height == 0) return std::nullopt;
  return track == plan_.tracks.pressed(device) ? row.y : row.y + 3;
}

Ground RowDrawer::track_ground(std::uint32_t track) const {
  const std::size_t people = timeline_.people.size();
  if (track < people || track == plan_.tracks.clock()) return Ground::paper;
  if (track == plan_.tracks.bus()) return Ground::bus;
  return (track - people) % 2 == 0 ? Ground::paper : Ground::hidden;
}

void RowDrawer::write_sayings() {
  for (std::uint32_t track = 0; track < plan_.tracks.count(); ++track) write_opening(track);
  const std::vector<double> rooms = rooms_for_sayings();
  for (std::size_t i = 0; i < row_.slot_x.size(); ++i) {
    Saying saying = plan_.sayings[row_.first_slot + i];
    if (!saying.longer.empty()) {
      Saying longer = saying;
      longer.text = saying.longer;
      const double x = plot_left + row_.slot_x[i];
      const auto top = track_top(saying.track);
      const Box box{x, top.value_or(0) + 4, width_of(longer), 8};
      if (width_of(longer) <= rooms[i] && canvas_.is_free(box)) saying = longer;
    }
    write_saying(saying, plot_left + row_.slot_x[i]);
  }
}

/// After whatever is said on their track by then.
void RowDrawer::write_asides() {
  std::map<std::uint32_t, double> ends;
  std::size_t next = 0;
  for (const Saying& aside : plan_.asides) {
    if (!span_.holds(aside.at)) continue;
    for (; next < row_.slot_x.size() && plan_.sayings[row_.first_slot + next].at <= aside.at; ++next) {
      const Saying& saying = plan_.sayings[row_.first_slot + next];
      ends[saying.track] = plot_left + row_.slot_x[next] + width_of(saying) + 6;
    }
    const auto top = track_top(aside.track);
    const double left = std::max(x(aside.at), ends[aside.track]);
    if (!top || !canvas_.is_free({left, *top, width_of(aside), line_height(strong_style)})) continue;
    write_saying(aside, left);
    ends[aside.track] = left + width_of(aside) + 6;
  }
}

/// How far it is from each saying of the row to the next of its track, or to the row's end.
std::vector<double> RowDrawer::rooms_for_sayings() const {
  constexpr double gap = 6;
  std::vector<double> next(plan_.tracks.count(), plot_width() + gap);
  std::vector<double> rooms(row_.slot_x.size());
  for (std::size_t i = rooms.size(); i-- > 0;) {
    double& following = next[plan_.sayings[row_.first_slot + i].track];
    rooms[i] = following - gap - row_.slot_x[i];
    following = row_.slot_x[i];
  }
  return rooms;
}

void RowDrawer::write_opening(std::uint32_t track) {
  if (!track_top(track)) return;
  if (const auto saying = opening_saying(timeline_, plan_, track, span_.from))
    write_saying(*saying, plot_left);
}

void RowDrawer::write_saying(const Saying& saying, double x) {
  const auto top = track_top(saying.track);
  if (!top) return;
  const double height = line_height(strong_style);
  Label label{{x, *top + (height - line_height(saying.style)) / 2 + baseline(saying.style)},
              saying.text,
              saying.style};
  label.ink = saying.ink;
  label.ground = track_ground(saying.track);
  label.shown = saying.shown;
  Mark mark{Layer::marks, saying.shown, {}, saying.entry == sim::no_entry ? Telling{} : tell(saying.entry)};
  const Point middle{x + 10, *top + height / 2};
  switch (saying.kind) {
    case Saying::Kind::inside:
      label.at.x += inside_padding;
      break;
    case Saying::Kind::words:
      break;
    case Saying::Kind::framed:
      mark.shapes.push_back({Look::hidden_frame, {x, *top - 1, width_of(saying), height + 2}, {}});
      label.at.x += 5;
      break;
    case Saying::Kind::time_out:
      mark.shapes.push_back({Look::time_out_end, {}, hourglass_path({x + 8, middle.y}, 7)});
      label.at.x += 20;
      break;
    case Saying::Kind::glance:
      if (label.shown == Shown::always) {
        mark.shapes.push_back({Look::eye, {}, eye_path(middle)});
        mark.shapes.push_back({Look::pupil, {}, pupil_path(middle)});
      } else {
        mark.shapes.push_back({Look::eye_closed, {}, closed_eye_path(middle)});
      }
      mark.shapes.push_back(saying.passed ? Shape{Look::tick, {}, tick_path({x + 28, middle.y}, 5)}
                                          : Shape{Look::wrong, {}, cross_path({x + 28, middle.y}, 5)});
      canvas_.reserve({x, *top, width_of(saying), height});
      label.text.clear();
      break;
    case Saying::Kind::note:
      mark.shapes.push_back(
          {Look::note,
           {},
           pill_path({x + width_of(saying) / 2, middle.y}, width_of(saying) / 2, disc_radius)});
      label.anchor = Anchor::middle;
      label.at.x = x + width_of(saying) / 2;
      break;
    case Saying::Kind::clock:
      label.at.x += 2;
      draw_rule(x);
      break;
  }
  canvas_.write(label);
  if (!mark.shapes.empty()) canvas_.draw(std::move(mark));
}

}  // namespace drybus::tools::picture
