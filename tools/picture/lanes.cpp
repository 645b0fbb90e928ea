#include "tools/picture/lanes.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/words/words.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr std::size_t small_site = 8;  ///< devices; all are drawn
constexpr std::size_t roomy = 10;      ///< lanes; more than that give up rows in which nothing happens
constexpr std::size_t most_lanes = 400;

/// What is drawn of a device within a span, for telling devices apart. Entries and names are left out.
struct History {
  std::vector<std::int64_t> happened;  ///< presses, modes, marks, misses, power
  std::vector<std::int64_t> shown;     ///< its lamp and its load
  bool load_moves = false;
  bool pressed = false;
  friend bool operator==(const History& a, const History& b) {
    return a.happened == b.happened && a.shown == b.shown;
  }
};

std::int64_t count(sim::Instant at) {
  return at.time_since_epoch().count();
}

void add_text(std::vector<std::int64_t>& to, const std::string& text) {
  for (const char c : text) to.push_back(c);
}

History history_of(const DeviceLane& lane, const std::vector<Miss>& misses, const Span& span) {
  History history;
  auto& happened = history.happened;
  happened.push_back(lane.plate ? 1 : 0);
  const std::size_t nothing = happened.size();
  for (const PressBand& press : lane.presses) {
    if (!span.touches(press.down, press.up)) continue;
    history.pressed = true;
    happened.insert(happened.end(), {1, count(press.down), count(press.up), press.buttons});
  }
  for (const SetupBand& band : lane.setups) {
    if (span.touches(band.from, band.to))
      happened.insert(happened.end(), {2, count(band.from), count(band.to)});
  }
  for (const PowerCut& cut : lane.cuts) {
    if (!span.touches(cut.from, cut.to)) continue;
    history.pressed = true;  // that there is no power stands there
    happened.insert(happened.end(), {3, count(cut.from), count(cut.to)});
  }
  for (const DeviceMark& mark : lane.marks) {
    if (!span.holds(mark.at)) continue;
    history.pressed = history.pressed || !is_hidden(mark.kind);
    happened.insert(happened.end(), {4, count(mark.at), static_cast<std::int64_t>(mark.kind)});
    add_text(happened, mark.text);
  }
  for (const Miss& miss : misses) {
    if (span.holds(miss.at))
      happened.insert(happened.end(), {5, count(miss.at), static_cast<std::int64_t>(miss.loss)});
  }
  for (const LampBand& lamp : lane.lamps) {
    if (!span.touches(lamp.from, lamp.to)) continue;
    history.shown.insert(history.shown.end(),
                         {6, count(std::max(lamp.from, span.from)), static_cast<std::int64_t>(lamp.pattern)});
  }
  for (std::size_t i = 0; i + 1 < lane.levels.size(); ++i) {
    const LevelPoint& a = lane.levels[i];
    const LevelPoint& b = lane.levels[i + 1];
    if (!span.touches(a.at, b.at)) continue;
    history.shown.insert(history.shown.end(), {7, count(std::max(a.at, span.from)), a.level, b.level});
    // Coming on with the power, at the very beginning, is nothing that happened.
    if (a.level != b.level && b.at > sim::start_of_run) history.load_moves = true;
  }
  if (history.load_moves) {
    happened.insert(happened.end(), history.shown.begin(), history.shown.end());
  }
  if (happened.size() == nothing) happened.clear();
  return history;
}

class Chooser {
 public:
  Chooser(const Timeline& timeline, const Plan& plan, const Span& span)
      : timeline_(timeline), plan_(plan), span_(span) {}

  LaneChoice choose() {
    const std::size_t devices = timeline_.devices.size();
    const bool all = devices <= small_site;
    DrawnLane quiet;
    quiet.quiet = true;
    for (std::size_t i = 0; i < devices; ++i) {
      const auto device = static_cast<DeviceId>(i);
      History history = history_of(timeline_.devices[i], plan_.misses[i], span_);
      if (history.happened.empty() && !all) {
        quiet.devices.push_back(device);
      } else if (all || !joined(device, history)) {
        lanes_.push_back({{device}});
        histories_.push_back(std::move(history));
      }
    }
    if (!quiet.devices.empty()) {
      lanes_.push_back(quiet);
      histories_.emplace_back();
    }
    return sorted();
  }

 private:
  /// Whether the device goes with one to which the same happened.
  bool joined(DeviceId device, const History& history) {
    for (std::size_t i = 0; i < lanes_.size(); ++i) {
      if (!(histories_[i] == history)) continue;
      lanes_[i].devices.push_back(device);
      return true;
    }
    return false;
  }

  LaneChoice sorted() {
    LaneChoice choice;
    const bool crowded = lanes_.size() > roomy;
    for (std::size_t i = 0; i < lanes_.size(); ++i) {
      DrawnLane& lane = lanes_[i];
      if (i >= most_lanes && !lane.quiet) {
        choice.left_out += lane.devices.size();
        continue;
      }
      const bool plate = timeline_.devices[lane.first()].plate;
      lane.pressed_row = !lane.quiet && histories_[i].pressed;
      lane.hidden_row = !lane.quiet && !timeline_.only_seen;
      lane.load_row = !lane.quiet && !plate && (!crowded || histories_[i].load_moves);
      (plate && !lane.quiet ? choice.above : choice.below).push_back(std::move(lane));
    }
    return choice;
  }

  const Timeline& timeline_;
  const Plan& plan_;
  Span span_;
  std::vector<DrawnLane> lanes_;
  std::vector<History> histories_;
};

constexpr std::size_t most_repeated = 2;  ///< plates

/// Plates at which somebody is at work: with them, every part tells what came from where. None where there are many.
std::vector<const DrawnLane*> at_work(const LaneChoice& whole) {
  std::vector<const DrawnLane*> lanes;
  for (const DrawnLane& lane : whole.above) {
    if (lane.pressed_row) lanes.push_back(&lane);
  }
  if (lanes.size() > most_repeated) lanes.clear();
  return lanes;
}

/// Fills one part after another.
class Parts {
 public:
  Parts(const Timeline& timeline, std::vector<const DrawnLane*> repeated, double room,
        const std::function<double(const DrawnLane&)>& height_of)
      : timeline_(timeline), repeated_(std::move(repeated)), room_(room), height_of_(height_of) {
    for (const DrawnLane* lane : repeated_) room_ -= height_of_(*lane);
  }

  /// Lanes of one room. What goes into one part stays together.
  void add(const std::string& place, const std::vector<const DrawnLane*>& lanes) {
    double all = 0;
    for (const DrawnLane* lane : lanes) all += height_of_(*lane);
    if (used_ > 0 && used_ + all > room_) close();
    const bool whole = used_ + all <= room_;
    for (const DrawnLane* lane : lanes) {
      const double height = height_of_(*lane);
      if (used_ > 0 && used_ + height > room_) close();
      take(*lane);
      used_ += height;
      if (lane->quiet) continue;  // it says itself who it is
      const std::string name = timeline_.devices[lane->first()].name;
      if (places_.empty() || places_.back().name != place) places_.push_back({place, whole, name, name});
      places_.back().last = name;
    }
  }

  std::vector<LaneChoice> parts() {
    close();
    return std::move(parts_);
  }

 private:
  struct Place {
    std::string name;
    bool whole = true;
    std::string first;  ///< devices of it
    std::string last;
    [[nodiscard]] std::string text() const {
      if (whole) return name;
      return first == last ? fmt::format("{}: {}", name, first) : tr("{}: {} to {}", name, first, last);
    }
  };

  void take(const DrawnLane& lane) {
    (timeline_.devices[lane.first()].plate && !lane.quiet ? open_.above : open_.below).push_back(lane);
  }

  void close() {
    if (used_ == 0) return;
    constexpr std::size_t most_named = 3;
    for (std::size_t i = 0; i < places_.size() && i < most_named; ++i)
      open_.rooms += (i == 0 ? "" : ", ") + places_[i].text();
    if (places_.size() > most_named) open_.rooms += tr(" and {} more", places_.size() - most_named);
    for (const DrawnLane* lane : repeated_) take(*lane);
    open_.part = true;
    parts_.push_back(std::move(open_));
    open_ = {};
    places_.clear();
    used_ = 0;
  }

  const Timeline& timeline_;
  std::vector<const DrawnLane*> repeated_;
  double room_;
  const std::function<double(const DrawnLane&)>& height_of_;
  std::vector<LaneChoice> parts_;
  LaneChoice open_;
  std::vector<Place> places_;
  double used_ = 0;
};

}  // namespace

bool LaneChoice::shows(DeviceId device) const {
  const auto has = [&](const DrawnLane& lane) {
    return std::find(lane.devices.begin(), lane.devices.end(), device) != lane.devices.end();
  };
  return std::any_of(above.begin(), above.end(), has) || std::any_of(below.begin(), below.end(), has);
}

std::vector<LaneChoice> by_rooms(const Timeline& timeline, const LaneChoice& whole, double room,
                                 const std::function<double(const DrawnLane&)>& height_of) {
  // Rooms in the order in which the site names its devices; whoever nothing happened to comes last.
  std::vector<std::pair<std::string, std::vector<const DrawnLane*>>> rooms;
  const auto sort_in = [&](const DrawnLane& lane) {
    const std::string place = lane.quiet ? tr("elsewhere") : timeline.devices[lane.first()].place;
    const auto same = [&](const auto& each) { return each.first == place; };
    auto found = std::find_if(rooms.begin(), rooms.end(), same);
    if (found == rooms.end()) found = rooms.insert(rooms.end(), {place, {}});
    found->second.push_back(&lane);
  };
  std::vector<const DrawnLane*> repeated = at_work(whole);
  if (whole.below.empty() && repeated.size() == whole.above.size()) repeated.clear();  // there is nobody else
  for (const DrawnLane& lane : whole.above) {
    if (std::find(repeated.begin(), repeated.end(), &lane) == repeated.end()) sort_in(lane);
  }
  for (const DrawnLane& lane : whole.below) sort_in(lane);
  Parts parts{timeline, repeated, room, height_of};
  for (const auto& [place, lanes] : rooms) parts.add(place, lanes);
  std::vector<LaneChoice> all = parts.parts();
  if (!all.empty()) all.back().left_out = whole.left_out;
  return all;
}

LaneChoice choose_lanes(const Timeline& timeline, const Plan& plan, const Span& span) {
  return Chooser{timeline, plan, span}.choose();
}

std::string names_text(const Timeline& timeline, const std::vector<DeviceId>& devices, std::size_t most) {
  std::string text;
  const std::size_t named = devices.size() <= most + 1 ? devices.size() : most;
  for (std::size_t i = 0; i < named; ++i) {
    const bool last = i + 1 == devices.size();
    text += std::string{i == 0 ? "" : last ? tr(" and ") : ", "} + timeline.devices[devices[i]].name;
  }
  if (named < devices.size()) text += tr(" and {} more", devices.size() - named);
  return text;
}

}  // namespace drybus::tools::picture
