// What commands may know of a protocol that is none of the keypad families'. A protocol is one plain thing: a name, the
// words of its frames, what can be out of step on its line with causes and remedies, and how a scenario of it is run.
// What comes of a run is told in terms that hold for any of them; nothing outside a protocol's rooms knows its frames.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/people/script.h"
#include "sim/biphase.h"
#include "sim/digest.h"
#include "sim/record.h"

namespace drybus::protocol {

/// A kind of thing that can be out of step.
struct FindingKind {
  std::string_view id;
  std::string_view cause;       ///< what usually makes it so, in a clause
  std::string_view remedy;      ///< what a person can do about it
  bool touches_wiring = false;  ///< the remedy: a caution goes with it
};

struct Found {
  std::size_t kind = 0;  ///< of Protocol::findings
  sim::Instant at{};
  std::optional<sim::Instant> until;
  std::vector<std::string> devices;
  std::string text;                   ///< what is out of step here
  std::vector<sim::EntryId> because;  ///< what made it so, the last first
};

struct CheckOutcome {
  model::SourceMark mark;
  sim::Instant at{};
  bool seen = false;
  bool passed = false;
  std::string what;  ///< "M1.short is 3"
  std::string actual;
};

/// A line of the story.
struct Told {
  enum class Kind : std::uint8_t { done, seen, hidden };
  Kind kind = Kind::hidden;
  sim::Instant at{};
  std::string text;
  sim::EntryId entry = sim::no_entry;
};

/// What one line carried: its edges in time, and each frame as it was sent.
struct Carried {
  struct Sent {
    sim::Instant from{};
    sim::BitFrame frame;
    std::string sender;
    bool spoilt = false;  ///< nobody could read it
  };
  std::string line;
  sim::Edges edges;
  std::vector<Sent> frames;
};

/// A device at the end, as its facts in words, in a stated order.
struct DeviceFacts {
  std::string name;
  std::vector<std::pair<std::string, std::string>> facts;
};

struct Run {
  std::uint64_t seed = 0;
  sim::Record record;
  sim::Fingerprint digest;
  sim::Instant ended{};
  std::vector<Found> findings;
  std::vector<CheckOutcome> checks;
  std::vector<Told> story;
  std::vector<Carried> carried;
  std::vector<DeviceFacts> devices;
  /// What a sweep counts, such as how many lamps have the number that the plan gives them; in a stated order.
  std::vector<std::pair<std::string, std::uint64_t>> figures;
  std::string broken_off;  ///< why it did not come to its end; empty when it did

  [[nodiscard]] bool passed() const;
};

struct RunOptions {
  std::optional<std::uint64_t> seed;
  sim::Duration until = std::chrono::hours{24 * 31};
  std::uint64_t most_events = 20'000'000;
  bool keeps_waves = false;  ///< Run::carried is wanted
  double spread =
      0;  ///< of the logarithm of how long people take for what the script gives a time; 0: just that
};

struct Protocol {
  std::string_view name;   ///< as scenarios write it
  std::string_view about;  ///< in a line
  std::span<const FindingKind> findings;
  std::string_view caution;  ///< that goes with whatever touches wiring
  std::string (*in_words)(const sim::BitFrame&);
};

/// A scenario that was read, whatever its protocol.
struct Scenario {
  const Protocol* protocol = nullptr;
  std::string title;
  std::string about;
  std::uint64_t seed = 1;
  std::vector<std::string> files;  ///< [0] is its own
  bool touches_wiring = false;     ///< somebody opens a cover in it, or restores the power
  std::vector<std::string> devices;
  std::function<Run(const RunOptions&)> run;
  /// One entry of a run's record as a clause, without its time.
  std::function<std::string(const sim::Record&, sim::EntryId)> describe;
};

/// A cause and what led to it, the last first, back to what somebody did: along the causes of the record.
std::vector<sim::EntryId> chain(const sim::Record& record, sim::EntryId from);

}  // namespace drybus::protocol
