#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>

#include "model/record/describe.h"
#include "model/record/family_names.h"
#include "model/words/words.h"
#include "model/world/installer.h"
#include "tools/timeline/timeline.h"

namespace drybus::tools {

using namespace model;  // a view speaks the model's words throughout

namespace {

std::string address_text(const Address& address) {
  return address.channel == 0 ? tr("no address") : to_string(address);
}

/// There is little room beside a lane: a translation may be shorter than where there is more.
std::string set_text(std::uint64_t site, std::uint64_t zone) {
  return fmt::format(fmt::runtime(in_words_spoken(msg_as("lane", "site {}, zone {}"), "lane")), site, zone);
}

std::string power_up_text(PowerUp mode) {
  return tr("powers up {}", in_words_spoken(to_string(mode)));
}

std::string_view link_word(sim::LinkState state) {
  switch (state) {
    case sim::LinkState::sound:
      return in_words_spoken(msg("mended"));
    case sim::LinkState::open:
      return in_words_spoken(msg_as("link state", "open"), "link state");
    case sim::LinkState::shorted:
      return in_words_spoken(msg("shorted"));
    case sim::LinkState::noisy:
      return in_words_spoken(msg("noisy"));
  }
  return "";
}

std::string_view refusal_text(Refusal refusal) {
  switch (refusal) {
    case Refusal::channel_zero:
      return in_words_spoken(msg("refused: channel 0"));
    case Refusal::zone_zero:
      return in_words_spoken(msg("refused: zone 0"));
    case Refusal::no_such_channel:
      return in_words_spoken(msg("refused: no such channel"));
  }
  return "";
}

/// Reads a record from its beginning to its end and sorts what it tells into lanes.
class Reader {
 public:
  Reader(const Scenario& scenario, const RunResult& result)
      : scenario_(scenario), record_(result.record), result_(result) {
    timeline_.end = result.world.now;
    telegram_of_.assign(record_.size() + 1, none);
    for (std::size_t i = 0; i < site().device_count(); ++i) begin_device(static_cast<DeviceId>(i));
    for (const Person& person : scenario.people) begin_person(person);
  }

  Timeline read() {
    for (sim::EntryId id = 1; id <= record_.size(); ++id) take(id);
    for (DeviceLane& lane : timeline_.devices) end_device(lane);
    for (PersonLane& lane : timeline_.people) end_person(lane);
    group_findings();
    return std::move(timeline_);
  }

 private:
  static constexpr std::uint32_t none = 0xffffffff;

  [[nodiscard]] const Site& site() const { return scenario_.site; }
  [[nodiscard]] DeviceLane& lane(const sim::Entry& entry) { return timeline_.devices[entry.who]; }
  [[nodiscard]] PersonLane& person(const sim::Entry& entry) { return timeline_.people[entry.who]; }

  // --- beginnings and ends ---

  void begin_device(DeviceId device) {
    DeviceLane lane;
    lane.device = device;
    lane.plate = site().is_plate(device);
    lane.name = site().name(device);
    lane.label = site().title(device) == lane.name ? "" : site().title(device);
    lane.place = site().places[site().place(device)].name;
    lane.lamps.push_back({sim::start_of_run, timeline_.end, Pattern::dark, sim::no_entry});
    if (!site().other_families.empty()) lane.family = site().family_of(device).name;
    if (lane.plate) {
      lane.set_to = set_text(site().plates[device].site, site().plates[device].zone);
    } else {
      const ModuleSpec& module = site().modules[site().module_index(device)];
      if (module.intended) lane.intended = to_string(*module.intended);
      lane.held = address_text(module.memory.address);
      lane.power_up = power_up_text(module.memory.power_up);
      lane.levels.push_back({sim::start_of_run, 0, sim::no_entry});
    }
    timeline_.devices.push_back(std::move(lane));
    contacts_.push_back(0);
  }

  void begin_person(const Person& person) {
    timeline_.people.push_back({person.name,
                                {{sim::start_of_run, timeline_.end, site().places[person.place].name}},
                                {},
                                {},
                                {},
                                {}});
    if (timeline_.people.size() == 1) open_sight(person.place, sim::start_of_run);
  }

  void end_device(DeviceLane& lane) const {
    for (PressBand& press : lane.presses) {
      if (!press.released) press.up = timeline_.end;
    }
    for (SetupBand& band : lane.setups) {
      if (!band.ended_by) band.to = timeline_.end;
    }
    std::erase_if(lane.lamps,
                  [](const LampBand& lamp) { return lamp.from == lamp.to && lamp.entry == sim::no_entry; });
    if (!lane.plate) end_levels(lane);
  }

  void end_levels(DeviceLane& lane) const {
    const LevelPoint last = lane.levels.back();
    if (last.at < timeline_.end) lane.levels.push_back({timeline_.end, last.level, last.entry});
    if (last.at <= timeline_.end || lane.levels.size() < 2) return;
    const LevelPoint& before = lane.levels[lane.levels.size() - 2];
    const double part = sim::seconds(timeline_.end - before.at) / sim::seconds(last.at - before.at);
    const double level = before.level + (last.level - before.level) * part;
    lane.levels.back() = {timeline_.end, static_cast<Level>(std::lround(level)), last.entry};
  }

  static void end_person(PersonLane& lane) {
    std::erase_if(lane.stays, [](const Stay& stay) { return stay.from == stay.to; });
  }

  // --- the record ---

  void take(sim::EntryId id) {
    const sim::Entry& entry = record_[id];
    switch (what(entry)) {
      case What::began:
        return;
      case What::step:
        return step(id, entry);
      case What::walked:
        return walked(id, entry);
      case What::arrived:
        return;
      case What::contact:
        return contact(id, entry);
      case What::misread:
        misread_ = entry.cause;
        return;
      case What::gesture:
        return;
      case What::mode:
        return mode(id, entry);
      case What::channel:
        return mark(id, DeviceMark::Kind::channel, fmt::format("{}", entry.a));
      case What::refused:
        return mark(id, DeviceMark::Kind::refused, std::string{refusal_text(static_cast<Refusal>(entry.a))});
      case What::timer:
      case What::queued:
      case What::deferred:
        return;
      case What::sent:
        return sent(id, entry);
      case What::sent_whole:
        return sent_whole(id, entry);
      case What::gave_up:
        return mark(id, DeviceMark::Kind::unsent, tr("gave up sending"));
      case What::dropped:
        return mark(id, DeviceMark::Kind::unsent, tr("could not send"));
      case What::heard:
        return heard(id, entry);
      case What::lost:
        return lost(id, entry);
      case What::assign_ignored:
        return ignored(id, entry);
      case What::obeyed:
        return hearing(entry, Hearing::obeyed);
      case What::indicator:
        return indicator(id, entry);
      case What::level:
        return level(id, entry);
      case What::level_reached:
      case What::store_begun:
        return;
      case What::stored:
        if (entry.b != 0) mark(id, DeviceMark::Kind::stored, to_string(stored_address(entry)));
        return;
      case What::store_torn:
        return mark(id, DeviceMark::Kind::torn, tr("write lost: no address"));
      case What::power_up:
        return mark(id, DeviceMark::Kind::power_up, power_up_text(static_cast<PowerUp>(entry.a)));
      case What::blips:
        return blips(id, entry);
      case What::blip_unshown:
        return;
      case What::power:
        return power(id, entry);
      case What::switches:
        return mark(id, DeviceMark::Kind::switches, set_text(entry.a, entry.b));
      case What::link:
        return link(id, entry);
      case What::stuck:
      case What::said:
        return;
      case What::deaf:
        return mark(id, DeviceMark::Kind::deaf, tr("will miss {}", entry.a));
      case What::checked:
        return checked(id, entry);
    }
  }

  void mark(sim::EntryId id, DeviceMark::Kind kind, std::string text) {
    lane(record_[id]).marks.push_back({kind, record_[id].at, std::move(text), id});
  }

  // --- people ---

  void step(sim::EntryId id, const sim::Entry& entry) {
    const Step& step = scenario_.people[entry.who].script[entry.a];
    if (!step.text.empty()) person(entry).notes.push_back({entry.at, step.text, id});
    if (step.kind != StepKind::wait) return;
    person(entry).waits.push_back({entry.at, std::min(entry.at + step.duration, timeline_.end), id});
  }

  void walked(sim::EntryId id, const sim::Entry& entry) {
    const auto to = static_cast<PlaceId>(entry.b);
    const sim::Duration time = site().walk(static_cast<PlaceId>(entry.a), to);
    const sim::Instant there = std::min(entry.at + time, timeline_.end);
    PersonLane& lane = person(entry);
    lane.stays.back().to = entry.at;
    lane.walks.push_back({entry.at, there, site().places[to].name, id});
    lane.stays.push_back({there, timeline_.end, site().places[to].name});
    if (entry.who != 0) return;
    close_sight(entry.at);
    open_sight(to, there);
  }

  void open_sight(PlaceId from, sim::Instant at) {
    for (DeviceLane& lane : timeline_.devices) {
      if (in_sight(site(), from, lane.device)) lane.in_sight.push_back({at, timeline_.end});
    }
    sight_from_ = at;
  }

  void close_sight(sim::Instant at) {
    for (DeviceLane& lane : timeline_.devices) {
      if (!lane.in_sight.empty() && lane.in_sight.back().from == sight_from_) lane.in_sight.back().to = at;
    }
  }

  void checked(sim::EntryId id, const sim::Entry& entry) {
    const Check& check = scenario_.checks[entry.a];
    const std::string wanted =
        check.wanted.empty() ? tr("none") : fmt::format("{}", fmt::join(check.wanted, ", "));
    const std::string text = check.fact == Fact::findings
                                 ? tr("findings {}", wanted)
                                 : fmt::format("{} {}", site().name(check.device), wanted);
    std::vector<Glance>& glances = person(entry).glances;
    const bool joins = !glances.empty() && glances.back().at == entry.at && glances.back().seen == check.seen;
    if (!joins) glances.push_back({entry.at, check.seen, true, "", {}});
    Glance& glance = glances.back();
    glance.text += (glance.text.empty() ? "" : ", ") + text;
    glance.passed = glance.passed && entry.b != 0;
    glance.entries.push_back(id);
  }

  // --- buttons ---

  void contact(sim::EntryId id, const sim::Entry& entry) {
    Buttons& down = contacts_[entry.who];
    const Buttons button = only(static_cast<Button>(entry.a));
    const bool closes = entry.b != 0;
    if (closes) {
      press_with(id, entry, button, down != 0);
      down = static_cast<Buttons>(down | button);
    } else {
      down = static_cast<Buttons>(down & ~button);
      if (down == 0) release(entry);
    }
    restart_time_out(entry, closes);
  }

  /// A contact that bounces is one press.
  void press_with(sim::EntryId id, const sim::Entry& entry, Buttons button, bool others_down) {
    std::vector<PressBand>& presses = lane(entry).presses;
    const bool bounced = !presses.empty() && presses.back().released && presses.back().buttons == button &&
                         entry.at - presses.back().up <= site().family_of(entry.who).debounce;
    if (!others_down && !bounced) {
      const bool stuck = entry.cause != sim::no_entry && what(record_[entry.cause]) == What::stuck;
      presses.push_back({entry.at, entry.at, false, stuck, false, 0, "", id});
      presses.back().misread = misread_ != sim::no_entry && misread_ == entry.cause;
    }
    PressBand& press = presses.back();
    press.released = false;
    press.buttons = static_cast<Buttons>(press.buttons | button);
    // Named without its device: the lane says which.
    press.text = buttons_text(site(), entry.who, press.buttons).substr(site().name(entry.who).size() + 1);
  }

  void release(const sim::Entry& entry) {
    PressBand& press = lane(entry).presses.back();
    press.up = entry.at;
    press.released = true;
  }

  /// As the family says: at a press on a plate, at any edge of a module's button.
  void restart_time_out(const sim::Entry& entry, bool closes) {
    DeviceLane& device = lane(entry);
    if (device.setups.empty() || device.setups.back().ended_by) return;
    const TimeOut& rule = site().time_out(entry.who);
    if (rule.from != CountedFrom::last_press || (device.plate && !closes)) return;
    device.setups.back().restarts.push_back(entry.at);
  }

  // --- modes ---

  void mode(sim::EntryId id, const sim::Entry& entry) {
    DeviceLane& device = lane(entry);
    const auto reason = static_cast<ModeReason>(entry.b);
    if (static_cast<Mode>(entry.a) == Mode::setup) {
      const TimeOut& rule = site().time_out(entry.who);
      device.setups.push_back({entry.at, entry.at, std::nullopt, rule.after, {entry.at}, id, sim::no_entry});
      return;
    }
    if (reason == ModeReason::assigned) hearing(entry, Hearing::took);
    if (device.setups.empty() || device.setups.back().ended_by) return;
    SetupBand& band = device.setups.back();
    band.to = entry.at;
    band.ended_by = reason;
    band.left = id;
  }

  // --- what can be seen ---

  void indicator(sim::EntryId id, const sim::Entry& entry) {
    const auto pattern = static_cast<Pattern>(entry.a);
    std::vector<LampBand>& lamps = lane(entry).lamps;
    lamps.back().to = entry.at;
    if (lamps.back().from == lamps.back().to) lamps.pop_back();
    lamps.push_back({entry.at, timeline_.end, pattern, id});
    if (pattern == Pattern::steady) hearing(entry, Hearing::obeyed);
  }

  void level(sim::EntryId id, const sim::Entry& entry) {
    std::vector<LevelPoint>& points = lane(entry).levels;
    const auto from = static_cast<Level>(entry.a & 0xffff);
    const auto to = static_cast<Level>(entry.a >> 16);
    while (points.size() > 1 && points.back().at > entry.at) points.pop_back();  // a fade that was overtaken
    points.push_back({entry.at, from, id});
    points.push_back({entry.at + sim::Duration{static_cast<std::int64_t>(entry.b)}, to, id});
  }

  void power(sim::EntryId id, const sim::Entry& entry) {
    std::vector<PowerCut>& cuts = lane(entry).cuts;
    if (entry.a == 0) {
      cuts.push_back({entry.at, timeline_.end, id});
    } else if (!cuts.empty()) {
      cuts.back().to = entry.at;
    }
  }

  /// Asleep is worth a word; awake only after that.
  void blips(sim::EntryId id, const sim::Entry& entry) {
    if (entry.a == 0) return mark(id, DeviceMark::Kind::asleep, tr("blips asleep"));
    const auto& marks = lane(entry).marks;
    const auto last = std::find_if(marks.rbegin(), marks.rend(), [](const DeviceMark& m) {
      return m.kind == DeviceMark::Kind::asleep || m.kind == DeviceMark::Kind::awake;
    });
    if (last != marks.rend() && last->kind == DeviceMark::Kind::asleep)
      mark(id, DeviceMark::Kind::awake, tr("blips awake"));
  }

  // --- the bus ---

  void link(sim::EntryId id, const sim::Entry& entry) {
    const auto state = static_cast<sim::LinkState>(entry.b & 0xff);
    timeline_.links.push_back(
        {entry.at, fmt::format("{} {}", site().link_name(entry.a), link_word(state)), id});
  }

  void sent(sim::EntryId id, const sim::Entry& entry) {
    telegram_of_[id] = static_cast<std::uint32_t>(timeline_.telegrams.size());
    timeline_.telegrams.push_back({entry.at, timeline_.end, entry.who, unpack(entry.b), false, {}, id});
    under_way_.push_back(telegram_of_[id]);
  }

  void sent_whole(sim::EntryId id, const sim::Entry& entry) {
    const std::uint32_t index = telegram_of_[entry.cause];
    telegram_of_[id] = index;
    end_telegram(index, entry.at);
  }

  void end_telegram(std::uint32_t index, sim::Instant at) {
    timeline_.telegrams[index].end = at;
    std::erase(under_way_, index);
  }

  void heard(sim::EntryId id, const sim::Entry& entry) {
    const std::uint32_t index = telegram_of_[entry.cause];
    if (index == none) return;
    telegram_of_[id] = index;
    timeline_.telegrams[index].receptions.push_back({entry.who, Hearing::heard, {}, id});
  }

  void lost(sim::EntryId id, const sim::Entry& entry) {
    const auto loss = model::why_lost(entry);
    if (loss == sim::Loss::cut_short) return cut_short(entry);
    const std::uint32_t index = telegram_of_[entry.cause];
    if (index == none) return;
    telegram_of_[id] = index;
    timeline_.telegrams[index].receptions.push_back({entry.who, Hearing::lost, loss, id});
  }

  /// The sender's power went: nobody hears it, and the record names only the sender.
  void cut_short(const sim::Entry& entry) {
    const auto mine = std::find_if(under_way_.begin(), under_way_.end(), [&](std::uint32_t index) {
      return timeline_.telegrams[index].sender == entry.who;
    });
    if (mine == under_way_.end()) return;
    const std::uint32_t index = *mine;
    timeline_.telegrams[index].cut_short = true;
    end_telegram(index, entry.at);
  }

  /// A reaction to a telegram: of the device that heard it last, for reactions follow at once.
  void hearing(const sim::Entry& entry, Hearing hearing) {
    if (entry.cause == sim::no_entry || telegram_of_[entry.cause] == none) return;
    std::vector<ReceptionMark>& receptions = timeline_.telegrams[telegram_of_[entry.cause]].receptions;
    if (!receptions.empty() && receptions.back().entry == entry.cause) receptions.back().hearing = hearing;
  }

  /// Worth a word only when the module had been in setup and left it without an address.
  void ignored(sim::EntryId id, const sim::Entry& entry) {
    if (entry.because == sim::no_entry) return;
    if (static_cast<ModeReason>(record_[entry.because].b) == ModeReason::assigned) return;
    mark(id, DeviceMark::Kind::ignored, tr("not in setup: ignored"));
    hearing(entry, Hearing::ignored);
  }

  // --- findings ---

  void group_findings() {
    for (std::size_t i = 0; i < result_.findings.size(); ++i) {
      const Finding& finding = result_.findings[i];
      const sim::Instant to = finding.until.value_or(timeline_.end);
      auto& spans = timeline_.findings;
      const auto alike = std::find_if(spans.begin(), spans.end(), [&](const FindingSpan& span) {
        return span.id == finding.id && span.from == finding.at && span.to == to &&
               span.open == !finding.until;
      });
      if (alike == spans.end()) {
        spans.push_back({finding.id, finding.at, to, !finding.until, finding.devices, {i}});
        continue;
      }
      if (alike->findings.size() == 1 && alike->about.size() > 1) {
        alike->about.erase(alike->about.begin() + 1, alike->about.end());
      }
      if (!finding.devices.empty()) alike->about.push_back(finding.devices.front());
      alike->findings.push_back(i);
    }
  }

  const Scenario& scenario_;
  const sim::Record& record_;
  const RunResult& result_;
  Timeline timeline_;
  std::vector<std::uint32_t> telegram_of_;  ///< by entry: which telegram it is about
  std::vector<std::uint32_t> under_way_;
  std::vector<Buttons> contacts_;  ///< by device: what is down
  sim::Instant sight_from_{};
  sim::EntryId misread_ = sim::no_entry;  ///< the step whose press was misread last
};

}  // namespace

Timeline read_timeline(const Scenario& scenario, const RunResult& result, std::uint64_t seed) {
  Timeline timeline = Reader{scenario, result}.read();
  timeline.title = scenario.title;
  timeline.about = scenario.about;
  timeline.family = family_names(scenario.site);
  timeline.seed = seed;
  timeline.named = named_moments(result);
  return timeline;
}

}  // namespace drybus::tools
