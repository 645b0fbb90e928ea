#include "tools/picture/plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/picture/style.h"

namespace drybus::tools::picture {

using namespace model;  // a view speaks the model's words throughout

double width_of(const Saying& saying) {
  const double words = text_width(saying.text, saying.style);
  switch (saying.kind) {
    case Saying::Kind::words:
      return words;
    case Saying::Kind::inside:
      return words + inside_padding;
    case Saying::Kind::framed:
      return words + 10;
    case Saying::Kind::time_out:
      return words + 20;
    case Saying::Kind::glance:
      return 36;
    case Saying::Kind::note:
      return std::max(words + 8, 2 * disc_radius);
    case Saying::Kind::clock:
      return words + 4;
  }
  return words;
}

std::string note_letter(std::size_t index) {
  std::string letters(1, static_cast<char>('a' + index % 26));
  return index < 26 ? letters : note_letter(index / 26 - 1) + letters;
}

std::string break_text(sim::Duration time) {
  const std::int64_t s = std::llround(sim::seconds(time));
  if (s < 600) return fmt::format("{} s", s);
  if (s < 7200)
    return s % 60 == 0 ? fmt::format("{} min", s / 60) : fmt::format("{} min {} s", s / 60, s % 60);
  const std::int64_t min = (s + 30) / 60;
  return min % 60 == 0 ? fmt::format("{} h", min / 60) : fmt::format("{} h {} min", min / 60, min % 60);
}

namespace {

constexpr double longest_words = 260;  ///< px; what is longer is told in full where it is pointed at
constexpr sim::Duration long_press = std::chrono::milliseconds{1500};
constexpr sim::Duration same_run = std::chrono::milliseconds{900};  ///< between two presses of one run
constexpr sim::Duration worth_a_word = std::chrono::seconds{2};     ///< of a wait

/// To the second where it is long: nobody walks to the millisecond.
std::string length_text(sim::Duration time) {
  return time < break_after ? duration_text(time) : break_text(time);
}

std::string shortened(std::string_view text, const TextStyle& style) {
  return fitted(text, longest_words, style);
}

bool crosses(sim::Instant from, sim::Instant to, sim::Instant at) {
  return from < at && at < to;
}

class Planner {
 public:
  Planner(const Timeline& timeline, const PictureOptions& options)
      : timeline_(timeline), stops_(options.stops), width_(options.width - plot_left - page_margin) {
    plan_.tracks = Tracks{timeline.people.size(), timeline.devices.size()};
    plan_.from = options.from;
    plan_.to = std::min(options.to, timeline.end);
  }

  Plan plan() {
    collect_misses();
    for (std::size_t i = 0; i < timeline_.people.size(); ++i) say_person(i);
    for (const DeviceLane& lane : timeline_.devices) say_device(lane);
    say_bus();
    say_named();
    say_stops();
    for (const FindingSpan& finding : timeline_.findings) {
      knot(finding.from);
      if (!finding.open) knot(finding.to);
    }
    set();
    return std::move(plan_);
  }

 private:
  [[nodiscard]] bool within(sim::Instant at) const { return plan_.from <= at && at <= plan_.to; }

  void knot(sim::Instant at) {
    if (within(at)) knots_.push_back(at);
  }

  void keep_together(sim::Instant from, sim::Instant to) { together_.push_back({from, to}); }

  void say(Saying saying) {
    if (!within(saying.at)) return;
    saying.text = shortened(saying.text, saying.style);
    knot(saying.at);
    plan_.sayings.push_back(std::move(saying));
  }

  void say(sim::Instant at, std::uint32_t track, std::string text, const TextStyle& style, Ink ink,
           Shown shown, sim::EntryId entry) {
    say({Saying::Kind::words, at, track, std::move(text), style, ink, shown, true, entry});
  }

  void collect_misses() {
    plan_.misses.resize(timeline_.devices.size());
    for (const TelegramMark& telegram : timeline_.telegrams) {
      if (telegram.beacon()) continue;
      for (const ReceptionMark& reception : telegram.receptions) {
        if (reception.hearing != Hearing::lost) continue;
        plan_.misses[reception.device].push_back({telegram.end, reception.loss, reception.entry});
      }
    }
  }

  // --- people ---

  void say_person(std::size_t person) {
    const PersonLane& lane = timeline_.people[person];
    const std::uint32_t track = plan_.tracks.person(person);
    for (const Stay& stay : lane.stays) {
      say({Saying::Kind::inside, stay.from, track, stay.place, strong_style});
    }
    for (const Glance& glance : lane.glances) {
      if (!glance.seen && glance.passed) continue;  // what was expected and is so says nothing new
      say({Saying::Kind::glance, glance.at, track, glance.text, second_style,
           glance.passed ? Ink::ink : Ink::alarm, glance.seen ? Shown::always : Shown::revealed,
           glance.passed, glance.entries.front()});
    }
    for (const Note& note : lane.notes) {
      if (!within(note.at) || !stops_.empty()) continue;
      say({Saying::Kind::note, note.at, track, note_letter(plan_.notes.size()), second_strong_style, Ink::ink,
           Shown::always, true, note.entry});
      plan_.notes.push_back(&note);
    }
    for (const Walk& walk : lane.walks) say_doing(track, walk.from, walk.to, tr("walks"), walk.entry);
    for (const Wait& wait : lane.waits) {
      if (wait.to - wait.from >= worth_a_word) say_doing(track, wait.from, wait.to, tr("waits"), wait.entry);
    }
  }

  void say_doing(std::uint32_t track, sim::Instant from, sim::Instant to, const std::string& verb,
                 sim::EntryId entry) {
    say({Saying::Kind::inside, from, track, verb, second_style, Ink::ink, Shown::always, true, entry,
         fmt::format("{} {}", verb, length_text(to - from))});
    knot(to);
  }

  // --- devices ---

  void say_device(const DeviceLane& lane) {
    say_presses(lane);
    for (const SetupBand& band : lane.setups) say_setup(lane, band);
    for (const DeviceMark& mark : lane.marks) say_mark(lane, mark);
    say_misses(lane);
    for (const LampBand& lamp : lane.lamps) knot_of_lamp(lane, lamp);
    for (const LevelPoint& point : lane.levels) knot(point.at);
    for (const PowerCut& cut : lane.cuts) {
      say({Saying::Kind::inside, cut.from, plan_.tracks.pressed(lane.device), tr("no power"), strong_style,
           Ink::ink, Shown::always, true, cut.entry});
      knot(cut.to);
    }
  }

  /// Presses of one button, one soon after the other, are told together: "up x7".
  void say_presses(const DeviceLane& lane) {
    for (std::size_t i = 0; i < lane.presses.size();) {
      const PressBand& press = lane.presses[i];
      std::size_t end = i + 1;
      while (end < lane.presses.size() && same_press(lane.presses[end - 1], lane.presses[end])) ++end;
      const std::string text = press_text(press, end - i);
      say(press.down, plan_.tracks.pressed(lane.device), text, second_strong_style, Ink::ink, Shown::always,
          press.entry);
      for (; i < end; ++i) {
        const PressBand& each = lane.presses[i];
        knot(each.down);
        if (each.released) knot(each.up);
        keep_together(each.down, each.up);
        if (each.misread) {
          say(each.down, plan_.tracks.hidden(lane.device), tr("misread"), second_strong_style, Ink::alarm,
              Shown::revealed, each.entry);
        }
      }
    }
  }

  [[nodiscard]] static bool same_press(const PressBand& before, const PressBand& press) {
    const bool brief = before.up - before.down < long_press && press.up - press.down < long_press;
    return brief && before.buttons == press.buttons && press.down - before.up < same_run && !press.misread;
  }

  static std::string press_text(const PressBand& press, std::size_t times) {
    if (press.stuck) return tr("{} stuck", press.text);
    if (times > 1) return fmt::format("{} \u00d7{}", press.text, times);
    if (!press.released) return tr("{}, held", press.text);
    const sim::Duration held = press.up - press.down;
    return held < long_press ? press.text : fmt::format("{} {}", press.text, duration_text(held));
  }

  void say_setup(const DeviceLane& lane, const SetupBand& band) {
    const std::uint32_t track = plan_.tracks.hidden(lane.device);
    say({Saying::Kind::inside, band.from, track, tr("setup"), strong_style, Ink::hidden, Shown::revealed,
         true, band.entered});
    for (const sim::Instant restart : band.restarts) knot(restart);
    if (!band.ended_by) return;
    knot(band.to);
    if (band.ended_by != ModeReason::time_out) return;
    say({Saying::Kind::time_out, band.to, track, tr("time-out {}", duration_text(band.time_out)),
         strong_style, Ink::alarm, Shown::revealed, true, band.left});
  }

  void say_mark(const DeviceLane& lane, const DeviceMark& mark) {
    const std::uint32_t hidden = plan_.tracks.hidden(lane.device);
    const auto framed = [&](std::string text, const TextStyle& style, Ink ink) {
      say({Saying::Kind::framed, mark.at, hidden, std::move(text), style, ink, Shown::revealed, true,
           mark.entry});
    };
    switch (mark.kind) {
      case DeviceMark::Kind::switches:
        say(mark.at, plan_.tracks.pressed(lane.device), tr("set to {}", mark.text), second_strong_style,
            Ink::ink, Shown::always, mark.entry);
        return;
      case DeviceMark::Kind::channel:
        return framed(mark.text, second_style, Ink::hidden);
      case DeviceMark::Kind::stored:
        return say_stored(lane, mark);
      case DeviceMark::Kind::torn:
        return framed(mark.text, strong_style, Ink::alarm);
      case DeviceMark::Kind::ignored:
      case DeviceMark::Kind::refused:
      case DeviceMark::Kind::unsent:
        return framed(mark.text, second_strong_style, Ink::alarm);
      case DeviceMark::Kind::asleep:
      case DeviceMark::Kind::deaf:
        return framed(mark.text, second_style, Ink::hidden);
      case DeviceMark::Kind::power_up:
        if (stored_with(lane, mark)) return;
        return framed(mark.text, second_strong_style, Ink::hidden);
      case DeviceMark::Kind::awake:
        if (!within(mark.at)) return;
        knot(mark.at);
        plan_.asides.push_back({Saying::Kind::framed, mark.at, hidden, mark.text, second_style, Ink::hidden,
                                Shown::revealed, true, mark.entry});
        return;
    }
  }

  /// The other of an address and a power-up mode that are stored in one go.
  static const DeviceMark* stored_with(const DeviceLane& lane, const DeviceMark& mark) {
    const auto other =
        mark.kind == DeviceMark::Kind::stored ? DeviceMark::Kind::power_up : DeviceMark::Kind::stored;
    const auto found = std::find_if(lane.marks.begin(), lane.marks.end(), [&](const DeviceMark& each) {
      return each.kind == other && each.at == mark.at;
    });
    return found == lane.marks.end() ? nullptr : &*found;
  }

  /// Its power-up mode stands beside it: always where anything turns on that, else where there is room.
  void say_stored(const DeviceLane& lane, const DeviceMark& mark) {
    const DeviceMark* power_up = stored_with(lane, mark);
    const std::string both = power_up == nullptr ? "" : fmt::format("{}, {}", mark.text, power_up->text);
    const bool must = power_up != nullptr && power_up_matters(lane);
    say({Saying::Kind::framed, mark.at, plan_.tracks.hidden(lane.device), must ? both : mark.text,
         strong_style, Ink::hidden, Shown::revealed, true, mark.entry, must ? "" : both});
  }

  /// The reason stands at the first of several telegrams that were missed for the same one.
  void say_misses(const DeviceLane& lane) {
    const Miss* before = nullptr;
    for (const Miss& miss : plan_.misses[lane.device]) {
      const bool said =
          before != nullptr && before->loss == miss.loss && miss.at - before->at < std::chrono::minutes{1};
      if (!said && miss.loss != sim::Loss::unpowered) {  // that it has no power is told already
        say({Saying::Kind::framed, miss.at, plan_.tracks.hidden(lane.device),
             tr("missed: {}", in_words_spoken(short_text(miss.loss))), second_strong_style, Ink::alarm,
             Shown::revealed, true, miss.entry});
      }
      before = &miss;
    }
  }

  /// Blips come with their telegrams and go by themselves: they need no place of their own.
  void knot_of_lamp(const DeviceLane& lane, const LampBand& lamp) {
    const bool first = &lamp == lane.lamps.data();
    const bool after_blip = !first && (&lamp - 1)->pattern == Pattern::blip && lamp.pattern == Pattern::dark;
    if (lamp.pattern != Pattern::blip && !after_blip) knot(lamp.from);
  }

  // --- the bus ---

  void say_bus() {
    const std::uint32_t track = plan_.tracks.bus();
    for (const LinkMark& link : timeline_.links) {
      say({Saying::Kind::framed, link.at, track, link.text, second_strong_style, Ink::alarm, Shown::revealed,
           true, link.entry});
    }
    for (const TelegramMark& telegram : timeline_.telegrams) {
      if (telegram.beacon()) continue;
      knot(telegram.begin);
      knot(telegram.end);
      keep_together(telegram.begin, telegram.end);
      if (telegram.telegram.kind == TelegramKind::assign) {
        say(telegram.begin, track, spoken(telegram.telegram), strong_style, Ink::hidden, Shown::revealed,
            telegram.sent);
      } else if (telegram.lost_by_somebody()) {
        say(telegram.begin, track, spoken(telegram.telegram), second_strong_style, Ink::alarm,
            Shown::revealed, telegram.sent);
      }
    }
  }

  // --- the axis ---

  /// Every moment that the words below name stands on the axis.
  void say_named() {
    std::string before;
    for (const sim::Instant at : timeline_.named) {
      const std::string text = clock_text(at);
      if (text == before) continue;
      say({Saying::Kind::clock, at, plan_.tracks.clock(), text, second_strong_style});
      before = text;
    }
  }

  void say_stops() {
    for (const Stop& stop : stops_) {
      say({Saying::Kind::note, stop.at, plan_.tracks.person(0), stop.text, second_strong_style});
    }
  }

  void set() {
    const auto earlier = [](const Saying& a, const Saying& b) { return a.at < b.at; };
    std::stable_sort(plan_.sayings.begin(), plan_.sayings.end(), earlier);
    std::stable_sort(plan_.asides.begin(), plan_.asides.end(), earlier);
    AxisRequest request;
    request.from = plan_.from;
    request.to = plan_.to;
    request.width = width_;
    request.knots = knots();
    for (const Saying& saying : plan_.sayings)
      request.slots.push_back({saying.at, saying.track, width_of(saying)});
    request.tracks = plan_.tracks.count();
    request.opening = [this](sim::Instant at) { return opening_slots(at); };
    request.break_width = [](sim::Duration time) {
      return text_width(break_text(time), second_strong_style) + 2 * break_arrow_width;
    };
    request.break_track = plan_.tracks.clock();
    plan_.axis = set_axis(request);
  }

  std::vector<Slot> opening_slots(sim::Instant at) const {
    std::vector<Slot> slots;
    for (std::uint32_t track = 0; track < plan_.tracks.count(); ++track) {
      if (const auto saying = opening_saying(timeline_, plan_, track, at))
        slots.push_back({at, track, width_of(*saying)});
    }
    return slots;
  }

  std::vector<Knot> knots() {
    std::sort(knots_.begin(), knots_.end());
    knots_.erase(std::unique(knots_.begin(), knots_.end()), knots_.end());
    std::sort(together_.begin(), together_.end(),
              [](const Stretch& a, const Stretch& b) { return a.from < b.from; });
    std::vector<Knot> result;
    std::size_t next = 0;
    sim::Instant busy_until = sim::start_of_run;
    for (const sim::Instant at : knots_) {
      while (next < together_.size() && together_[next].from < at)
        busy_until = std::max(busy_until, together_[next++].to);
      result.push_back({at, at > busy_until});
    }
    return result;
  }

  const Timeline& timeline_;
  const std::vector<Stop>& stops_;
  Plan plan_;
  double width_;
  std::vector<sim::Instant> knots_;
  std::vector<Stretch> together_;
};

std::optional<Saying> opening_of_person(const PersonLane& lane, sim::Instant at) {
  for (const Stay& stay : lane.stays) {
    if (crosses(stay.from, stay.to, at)) return Saying{Saying::Kind::inside, at, 0, stay.place, strong_style};
  }
  return std::nullopt;
}

std::optional<Saying> opening_of_pressed(const DeviceLane& lane, sim::Instant at) {
  for (const PowerCut& cut : lane.cuts) {
    if (crosses(cut.from, cut.to, at))
      return Saying{Saying::Kind::inside, at, 0, tr("no power"), strong_style};
  }
  return std::nullopt;
}

std::optional<Saying> opening_of_hidden(const DeviceLane& lane, sim::Instant at) {
  for (const SetupBand& band : lane.setups) {
    if (!crosses(band.from, band.to, at)) continue;
    return Saying{Saying::Kind::inside, at,   0,           tr("setup"), strong_style, Ink::hidden,
                  Shown::revealed,      true, band.entered};
  }
  if (lane.held.empty()) return std::nullopt;
  const sim::Instant before = at - sim::Duration{1};
  std::string held = at == sim::start_of_run ? lane.held : held_at(lane, before);
  if (power_up_matters(lane)) held += ", " + power_up_at(lane, before);
  return Saying{Saying::Kind::framed, at, 0, held, second_style, Ink::hidden, Shown::revealed};
}

}  // namespace

std::optional<Saying> opening_saying(const Timeline& timeline, const Plan& plan, std::uint32_t track,
                                     sim::Instant at) {
  const std::size_t people = timeline.people.size();
  std::optional<Saying> saying;
  if (track < people) {
    saying = opening_of_person(timeline.people[track], at);
  } else if (track < plan.tracks.bus()) {
    const std::size_t device = (track - people) / 2;
    const DeviceLane& lane = timeline.devices[device];
    const bool hidden = track == plan.tracks.hidden(lane.device);
    saying = hidden ? opening_of_hidden(lane, at) : opening_of_pressed(lane, at);
  }
  if (!saying) return std::nullopt;
  saying->track = track;
  saying->text = shortened(saying->text, saying->style);
  return saying;
}

Plan plan_picture(const Timeline& timeline, const PictureOptions& options) {
  return Planner{timeline, options}.plan();
}

}  // namespace drybus::tools::picture
