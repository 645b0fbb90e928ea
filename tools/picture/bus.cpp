// The bus and its telegrams: from sender to bus, from bus to receivers, or to nobody.
#include <fmt/ranges.h>

#include <algorithm>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/picture/glyphs.h"
#include "tools/picture/row.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

namespace {

constexpr double frame_height = 18;
constexpr double line_above_bottom = 11;  ///< of the bus's box
constexpr double beacon_height = 9;
constexpr double head_size = 9;

/// What a lane's receivers made of a telegram, the most that any of them did.
struct Arrival {
  double y = 0;
  Hearing hearing = Hearing::lost;
};

int weight(Hearing hearing) {
  switch (hearing) {
    case Hearing::lost:
      return 0;
    case Hearing::heard:
      return 1;
    case Hearing::ignored:
      return 2;
    case Hearing::obeyed:
      return 3;
    case Hearing::took:
      return 4;
  }
  return 0;
}

Shape head(Hearing hearing, Point at, bool down) {
  switch (hearing) {
    case Hearing::lost:
      return {Look::cross, {}, cross_path(at, 5)};
    case Hearing::heard:
      return {Look::head_heard, {}, circle_path(at, 3.2)};
    case Hearing::ignored: {
      const double y = at.y + (down ? 2 : -2);
      return {Look::head_ignored,
              {},
              arrow_path({at.x, y}, down, head_size) + line_path({at.x - 8, y + 1}, {at.x + 8, y + 1})};
    }
    case Hearing::obeyed:
      return {Look::head_obeyed, {}, arrow_path({at.x, at.y + (down ? 3 : -3)}, down, head_size)};
    case Hearing::took:
      return {Look::head_took, {}, arrow_path({at.x, at.y + (down ? 4 : -4)}, down, head_size + 4)};
  }
  return {};
}

/// Who made this of it; empty: nobody.
std::string names_of(const Timeline& timeline, const TelegramMark& telegram, Hearing hearing) {
  std::vector<DeviceId> devices;
  for (const ReceptionMark& reception : telegram.receptions) {
    if (reception.hearing == hearing) devices.push_back(reception.device);
  }
  return devices.empty() ? "" : names_text(timeline, devices, 6);
}

std::string outcomes(const Timeline& timeline, const TelegramMark& telegram) {
  const auto names = [&](Hearing hearing) { return names_of(timeline, telegram, hearing); };
  std::string text;
  if (const auto who = names(Hearing::took); !who.empty()) text += tr("; taken by {}", who);
  if (const auto who = names(Hearing::obeyed); !who.empty()) text += tr("; obeyed by {}", who);
  if (const auto who = names(Hearing::ignored); !who.empty())
    text += tr("; ignored, for want of setup, by {}", who);
  if (const auto who = names(Hearing::heard); !who.empty()) text += tr("; only heard by {}", who);
  return text;
}

std::string losses(const Timeline& timeline, const TelegramMark& telegram) {
  if (telegram.cut_short) return tr("; cut short: the sender's power went");
  std::string text;
  for (const auto loss : {sim::Loss::collision, sim::Loss::noise, sim::Loss::no_path, sim::Loss::unpowered}) {
    std::vector<DeviceId> devices;
    for (const ReceptionMark& reception : telegram.receptions) {
      if (reception.hearing == Hearing::lost && reception.loss == loss) devices.push_back(reception.device);
    }
    if (!devices.empty())
      text += tr("; missed by {} ({})", names_text(timeline, devices, 6), in_words_spoken(short_text(loss)));
  }
  return text;
}

std::string told(const Timeline& timeline, const TelegramMark& telegram) {
  return tr("{} sent {}", timeline.devices[telegram.sender].name, spoken(telegram.telegram)) +
         outcomes(timeline, telegram) + losses(timeline, telegram);
}

}  // namespace

void RowDrawer::draw_bus() {
  canvas_.draw(Layer::ground, Look::bus_ground, bus_);
  const double y = bus_.y + 4 + baseline(name_style);
  canvas_.write({{bus_.x + 4, y}, tr("bus"), name_style, Anchor::start, Ink::ink, Ground::bus});
  canvas_.write({{plot_left - 8, bus_.bottom() - 8},
                 tr("telegrams"),
                 caption_style,
                 Anchor::end,
                 Ink::hidden,
                 Ground::bus});
  canvas_.draw(Layer::marks, Look::eye_closed, closed_eye_path({bus_.x + 64, y - 6}));
  const double line = bus_.bottom() - line_above_bottom;
  canvas_.draw(Layer::rules, Look::bus_line, line_path({plot_left, line}, {plot_right(), line}));
  for (const TelegramMark& telegram : timeline_.telegrams) {
    const bool shown = span_.holds(telegram.begin) && !(telegram.beacon() && in_break(telegram.begin));
    if (shown) draw_telegram(telegram);
  }
  label_telegrams();
  label_beacons();
}

void RowDrawer::draw_telegram(const TelegramMark& telegram) {
  const double line = bus_.bottom() - line_above_bottom;
  Mark mark{Layer::leads, Shown::revealed, {}, tell(telegram.sent)};
  mark.telling.what = told(timeline_, telegram);
  mark.telling.when = clock_text(telegram.begin);
  draw_leads(telegram, mark);
  const double height = telegram.beacon() ? beacon_height : frame_height;
  Box frame = band(telegram.begin, telegram.end, line - height / 2, height, telegram.beacon() ? 2 : 5);
  if (telegram.collided() || telegram.cut_short) {
    frame.width = std::max(frame.width, 10.0);
    mark.shapes.push_back({Look::telegram_collided, {}, jagged_path(frame)});
  } else {
    const Look look = telegram.beacon()                                ? Look::telegram_beacon
                      : telegram.telegram.kind == TelegramKind::assign ? Look::telegram_assign
                                                                       : Look::telegram;
    mark.shapes.push_back({look, frame, {}});
  }
  canvas_.draw(std::move(mark));
}

void RowDrawer::draw_leads(const TelegramMark& telegram, Mark& mark) {
  const double line = bus_.bottom() - line_above_bottom;
  const Look look = telegram.beacon() ? Look::lead_beacon : Look::lead;
  if (const PlacedLane* sender = lane_of(telegram.sender)) {
    const double from = sender->pressed.height > 0 ? sender->pressed.bottom() - 1 : sender->box.bottom();
    const double at = x(telegram.begin) + 1;
    const bool above = sender->box.y < bus_.y;
    mark.shapes.push_back({look, {}, line_path({at, above ? from : sender->box.y}, {at, line})});
  }
  draw_side(telegram, true, mark);
  draw_side(telegram, false, mark);
}

/// To the lanes above the bus, or below it: unbroken as far as anybody heard it, broken beyond.
void RowDrawer::draw_side(const TelegramMark& telegram, bool up, Mark& mark) {
  const double line = bus_.bottom() - line_above_bottom;
  std::map<std::size_t, Arrival> arrivals;
  for (const ReceptionMark& reception : telegram.receptions) {
    const PlacedLane* lane = lane_of(reception.device);
    if (lane == nullptr || (lane->box.y < bus_.y) != up) continue;
    const bool off = reception.hearing == Hearing::lost && reception.loss == sim::Loss::unpowered;
    if (telegram.beacon() && off) continue;  // its lane shows that it has no power
    const std::size_t index = lane_index_[reception.device];
    const double y = up ? lane->box.bottom() - 3 : lane->box.y + 3;
    Arrival& arrival = arrivals.try_emplace(index, Arrival{y, Hearing::lost}).first->second;
    if (weight(reception.hearing) > weight(arrival.hearing)) arrival.hearing = reception.hearing;
  }
  double heard_to = line;
  double lost_to = line;
  const auto further = [&](double a, double b) { return up ? std::min(a, b) : std::max(a, b); };
  for (const auto& [index, arrival] : arrivals) {
    double& reached = arrival.hearing == Hearing::lost ? lost_to : heard_to;
    reached = further(reached, arrival.y);
  }
  const double at = x(telegram.end);
  if (heard_to != line) {
    mark.shapes.push_back(
        {telegram.beacon() ? Look::lead_beacon : Look::lead, {}, line_path({at, line}, {at, heard_to})});
  }
  if (further(lost_to, heard_to) != heard_to) {
    mark.shapes.push_back({Look::lead_lost, {}, line_path({at, heard_to}, {at, lost_to})});
  }
  for (const auto& [index, arrival] : arrivals) {
    if (telegram.beacon() && arrival.hearing != Hearing::lost) continue;
    mark.shapes.push_back(head(arrival.hearing, {at, arrival.y}, !up));
  }
}

/// Assigns and lost telegrams have their words; the others where there is room.
void RowDrawer::label_telegrams() {
  for (const TelegramMark& telegram : timeline_.telegrams) {
    if (telegram.beacon() || !span_.holds(telegram.begin) || telegram.telegram.kind == TelegramKind::assign ||
        telegram.lost_by_somebody()) {
      continue;
    }
    const std::string words = spoken(telegram.telegram);
    const std::string brief{spoken(telegram.telegram.kind)};
    bool written = false;
    for (const std::string& text : {words, brief}) {
      for (const double top : {bus_.y + 3, bus_.y + 23.5}) {
        // In a low bus the telegrams themselves are where the second line would be.
        if (written ||
            top + line_height(second_style) > bus_.bottom() - line_above_bottom - frame_height / 2 + 1)
          break;
        written = canvas_.write_if_free({{x(telegram.begin), top + baseline(second_style)},
                                         text,
                                         second_style,
                                         Anchor::start,
                                         Ink::ink,
                                         Ground::bus,
                                         Shown::revealed});
      }
    }
  }
}

void RowDrawer::label_beacons() {
  for (const AxisBreak& gap : row_.breaks) {
    const auto beacons = std::count_if(
        timeline_.telegrams.begin(), timeline_.telegrams.end(),
        [&](const TelegramMark& t) { return t.beacon() && gap.from < t.begin && t.begin < gap.to; });
    if (beacons == 0) continue;
    const std::string text = plural("{} beacon", "{} beacons", static_cast<std::uint64_t>(beacons), beacons);
    const double left = plot_left + gap.left - 4 - text_width(text, caption_style);
    for (const double place : {left, plot_left + gap.right + 4}) {
      const Label label{{place, bus_.bottom() - 9},
                        text,
                        caption_style,
                        Anchor::start,
                        Ink::hidden,
                        Ground::bus,
                        Shown::revealed};
      if (canvas_.write_if_free(label)) break;
    }
  }
}

}  // namespace drybus::tools::picture
