// A run as a timeline: what there is to show of it, lane by lane, in the run's own time. No coordinates and
// no colours: pictures, hand-outs and live views draw it as they like.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/run/run.h"

namespace drybus::tools {

struct Stretch {
  sim::Instant from{};
  sim::Instant to{};
  friend bool operator==(const Stretch&, const Stretch&) = default;
};

/// A device in setup. Hidden.
struct SetupBand {
  sim::Instant from{};
  sim::Instant to{};                          ///< the end of the run where it is not ended
  std::optional<model::ModeReason> ended_by;  ///< none: it still goes on
  sim::Duration time_out{};
  std::vector<sim::Instant> restarts;  ///< when the time-out began to count anew; the entry first
  sim::EntryId entered = sim::no_entry;
  sim::EntryId left = sim::no_entry;
};

/// What is left of the band's time-out: 1 when it has just begun to count, 0 when it has run out.
double time_left(const SetupBand& band, sim::Instant at);

/// Buttons held down together, from the first contact to the last. Anybody beside can see it.
struct PressBand {
  sim::Instant down{};
  sim::Instant up{};  ///< the end of the run where it is not released
  bool released = false;
  bool stuck = false;    ///< by a fault, not by a hand
  bool misread = false;  ///< meant for one mode, taken in another
  model::Buttons buttons = 0;
  std::string text;  ///< the buttons by name: "mark+scene"
  sim::EntryId entry = sim::no_entry;
};

struct LampBand {
  sim::Instant from{};
  sim::Instant to{};
  model::Pattern pattern = model::Pattern::dark;
  sim::EntryId entry = sim::no_entry;
};

/// Between two points a load moves evenly; two points of one instant are a jump.
struct LevelPoint {
  sim::Instant at{};
  model::Level level = 0;
  sim::EntryId entry = sim::no_entry;
};

/// A device without power.
struct PowerCut {
  sim::Instant from{};
  sim::Instant to{};
  sim::EntryId entry = sim::no_entry;
};

/// Something that happened at a device at one moment.
struct DeviceMark {
  enum class Kind {
    switches,  ///< seen: somebody set its switches
    channel,   ///< hidden, as all that follow: a plate's channel was stepped
    stored,    ///< an address went into memory
    torn,      ///< a write was lost
    refused,
    ignored,   ///< an assign, in normal mode, by a module that had been in setup
    power_up,  ///< the power-up mode changed
    asleep,    ///< blips fell asleep
    awake,     ///< and woke again
    deaf,      ///< it will miss telegrams
    unsent,    ///< a telegram was given up, or never got into the outbox
  };
  Kind kind = Kind::switches;
  sim::Instant at{};
  std::string text;  ///< short: "23/4/1 stored"
  sim::EntryId entry = sim::no_entry;
};

/// Whether nobody can see it.
bool is_hidden(DeviceMark::Kind kind);

struct DeviceLane {
  model::DeviceId device = 0;
  bool plate = false;
  std::string name;
  std::string label;  ///< may be empty
  std::string place;
  std::string family;             ///< its generation, where devices of several are on site; else empty
  std::string intended;           ///< a module's intended address; may be empty
  std::string set_to;             ///< how a plate's switches are set when the run begins: "site 23, zone 4"
  std::string held;               ///< hidden: a module's address when the run begins, or "no address"
  std::string power_up;           ///< hidden: what a module's power-up mode is then: "powers up full"
  std::vector<Stretch> in_sight;  ///< when the installer stands where it can be seen
  std::vector<PressBand> presses;
  std::vector<SetupBand> setups;
  std::vector<LampBand> lamps;     ///< without gaps, from the beginning to the end
  std::vector<LevelPoint> levels;  ///< a module's; likewise
  std::vector<PowerCut> cuts;
  std::vector<DeviceMark> marks;
};

/// What a device holds at a moment: a module's address as it was stored last. Empty for plates.
std::string held_at(const DeviceLane& lane, sim::Instant at);

/// How a plate's switches are set at a moment: "site 23, zone 4". Empty for modules.
std::string set_to_at(const DeviceLane& lane, sim::Instant at);

/// A module's power-up mode at a moment: "powers up full". Empty for plates.
std::string power_up_at(const DeviceLane& lane, sim::Instant at);

/// Whether anything turns on the power-up mode: a power cut, or a change while the address stays.
bool power_up_matters(const DeviceLane& lane);

enum class Hearing : std::uint8_t {
  heard,    ///< and nothing more
  obeyed,   ///< its load, or its indicator for a moment
  took,     ///< an assign, as its own address
  ignored,  ///< an assign, in normal mode, after setup had ended without an address
  lost,
};

struct ReceptionMark {
  model::DeviceId device = 0;
  Hearing hearing = Hearing::heard;
  sim::Loss loss = sim::Loss::collision;  ///< for Hearing::lost
  sim::EntryId entry = sim::no_entry;
};

/// A telegram on the bus. Hidden.
struct TelegramMark {
  sim::Instant begin{};
  sim::Instant end{};
  model::DeviceId sender = 0;
  model::Telegram telegram;
  bool cut_short = false;
  std::vector<ReceptionMark> receptions;
  sim::EntryId sent = sim::no_entry;

  [[nodiscard]] bool beacon() const { return telegram.kind == model::TelegramKind::beacon; }
  [[nodiscard]] bool collided() const;
  [[nodiscard]] bool lost_by_somebody() const;
};

/// A change of the wiring. Hidden.
struct LinkMark {
  sim::Instant at{};
  std::string text;  ///< "P1-M1 open"
  sim::EntryId entry = sim::no_entry;
};

/// "collision", "noise", "no way", "no power", "cut short"
std::string_view short_text(sim::Loss loss);

struct Stay {
  sim::Instant from{};
  sim::Instant to{};
  std::string place;
};

struct Walk {
  sim::Instant from{};
  sim::Instant to{};
  std::string place;  ///< where to
  sim::EntryId entry = sim::no_entry;
};

struct Wait {
  sim::Instant from{};
  sim::Instant to{};
  sim::EntryId entry = sim::no_entry;
};

/// All that one step looked for or expected at one moment.
struct Glance {
  sim::Instant at{};
  bool seen = false;  ///< with one's own eyes; otherwise it was expected, and is hidden
  bool passed = false;
  std::string text;  ///< "P1 dark, M2 breathe"
  std::vector<sim::EntryId> entries;
};

struct Note {
  sim::Instant at{};
  std::string text;
  sim::EntryId entry = sim::no_entry;
};

struct PersonLane {
  std::string name;
  std::vector<Stay> stays;
  std::vector<Walk> walks;
  std::vector<Wait> waits;
  std::vector<Glance> glances;
  std::vector<Note> notes;  ///< remarks on steps too
};

/// Findings that differ only in their devices, as one. Hidden.
struct FindingSpan {
  model::FindingId id{};
  sim::Instant from{};
  sim::Instant to{};
  bool open = false;                   ///< it still is so
  std::vector<model::DeviceId> about;  ///< of one finding all its devices, of several the first of each
  std::vector<std::size_t> findings;   ///< indices into RunResult::findings
};

struct Timeline {
  std::string title;
  std::string about;
  std::string family;
  std::uint64_t seed = 0;
  sim::Instant end{};
  std::vector<PersonLane> people;
  std::vector<DeviceLane> devices;  ///< by device
  std::vector<TelegramMark> telegrams;
  std::vector<LinkMark> links;
  std::vector<FindingSpan> findings;
  std::vector<sim::Instant> named;  ///< moments that the findings' texts name, ascending
  bool only_seen = false;           ///< of `seen_on_site`
};

/// `seed` is the one the run was made with.
Timeline read_timeline(const model::Scenario& scenario, const model::RunResult& result, std::uint64_t seed);

/// What could be seen on site, and nothing else: whatever is hidden is not in it, so that nothing that is drawn from it can
/// tell of that, not even by where an axis is cut. Its title is neutral, for a scenario's own often gives the answer.
Timeline seen_on_site(Timeline timeline);

/// The timeline as somebody has it who stands right after an entry: what was begun goes on, and what comes later, even at the
/// same moment, is not in it. Nothing hidden is taken out.
Timeline up_to(Timeline timeline, const sim::Record& record, sim::EntryId last);

/// The moments that a text names as clock times ("4:02.5"), each as the first entry of the record that is told by it.
std::vector<sim::Instant> named_moments(const sim::Record& record, std::string_view text);
/// Those of all findings' texts, ascending.
std::vector<sim::Instant> named_moments(const model::RunResult& result);

/// What a mark is made of, in words: the entry itself, when, and the chain of what led to it, nearest first.
struct Telling {
  std::string what;  ///< empty: nothing to tell
  std::string when;
  std::vector<std::string> because;
  sim::Instant at{};
};
Telling telling(const model::Scenario& scenario, const sim::Record& record, sim::EntryId entry);

}  // namespace drybus::tools
