// Findings: what is out of step in a run, from when to when, why, and what a person can do about it.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/findings/finding_ids.h"
#include "model/findings/scenes.h"
#include "model/people/script.h"
#include "model/record/trace.h"
#include "model/world/world.h"
#include "sim/record.h"

namespace drybus::model {

/// To be told wherever somebody is sent to wiring, plates or power. In line with EN 50110-1 and NFPA 70E, 120.5.
inline constexpr std::string_view safety_caution =
    "Isolate at the supply, lock off and prove dead with a checked tester before opening. A dimmer turned "
    "off is not "
    "isolation. Competent or qualified persons only, under local rules.";

/// A breach that can be read off a world alone, without its history.
struct Breach {
  FindingId id{};
  DeviceId first = no_device;  ///< whom it is about; breaches of one id and first make one finding
  DeviceId other = no_device;
  friend bool operator==(const Breach&, const Breach&) = default;
};

/// Adds all breaches of the present state, in a fixed order. Those that need the run's history (telegrams, presses,
/// looks, power) are found by FindingWatch only.
void add_state_breaches(const Scenario& scenario, const World& world, std::vector<Breach>& breaches);

/// A finding before it is put into words.
struct Observation {
  FindingId id{};
  sim::Instant at{};
  std::optional<sim::Instant> until;   ///< open: it still is so
  std::vector<DeviceId> devices;       ///< [0] whom it is about
  std::vector<sim::EntryId> evidence;  ///< what made it so, in order of time
};

struct Finding {
  FindingId id{};
  sim::Instant at{};
  std::optional<sim::Instant> until;
  std::vector<DeviceId> devices;
  std::vector<sim::EntryId> evidence;
  std::string text;
  std::string remedy;
};

/// Watches a run as it goes; call `observe` after every event. A plain value.
class FindingWatch {
 public:
  explicit FindingWatch(const Scenario& scenario);

  /// Takes in what the record has gained since the last call. The scenario must be the constructor's.
  void observe(const Scenario& scenario, const World& world, const sim::Record& record);

  /// As things stand now, by time, then id.
  [[nodiscard]] std::vector<Observation> observations(const Scenario& scenario, const World& world) const;

 private:
  struct Facts {
    sim::EntryId entered = sim::no_entry;  ///< setup
    sim::EntryId left = sim::no_entry;
    sim::EntryId stored = sim::no_entry;
    sim::EntryId switched = sim::no_entry;
    sim::EntryId torn = sim::no_entry;
    sim::Instant torn_at = sim::start_of_run;
    std::vector<sim::EntryId> down;        ///< the buttons that are down, longest first
    sim::EntryId unshown = sim::no_entry;  ///< the last telegram that did not blip
    sim::EntryId asleep = sim::no_entry;
  };
  struct Open {
    Breach breach;
    std::size_t observation = 0;
  };
  /// An assign on its way: who took it, if anybody.
  struct Offer {
    sim::EntryId sent = sim::no_entry;
    bool taken = false;
    std::vector<sim::EntryId> evidence;
  };

  void take_in(const Scenario& scenario, const World& world, const sim::Record& record, sim::EntryId id);
  void take_in_mode(const sim::Record& record, sim::EntryId id);
  void take_in_contact(const Scenario& scenario, const sim::Record& record, sim::EntryId id);
  [[nodiscard]] sim::Instant stuck_from(const Scenario& scenario, const sim::Record& record,
                                        DeviceId device) const;
  void open_if_stuck(const Scenario& scenario, const sim::Record& record, DeviceId device, sim::Instant now);
  void take_in_lost(const Scenario& scenario, const World& world, const sim::Record& record, sim::EntryId id);
  void take_in_level(const Scenario& scenario, const World& world, const sim::Record& record,
                     sim::EntryId id);
  void take_in_look(const Scenario& scenario, const World& world, const sim::Record& record, sim::EntryId id);
  void take_in_heard(const Scenario& scenario, const World& world, const sim::Record& record,
                     sim::EntryId id);
  void lose_telegram(const sim::Record& record, DeviceId sender, DeviceId receiver, sim::EntryId telegram,
                     sim::EntryId id);
  /// What the module held is no longer so; should the new address be as bad, that is another finding.
  void forget_address(DeviceId module, sim::Instant at);
  void settle_offers(const Scenario& scenario, const World& world, const sim::Record& record);
  void settle_states(const Scenario& scenario, const World& world);
  void settle_held_buttons(const Scenario& scenario, const World& world, const sim::Record& record);
  void settle_reach(const Scenario& scenario, const World& world);
  void open(const Breach& breach, sim::Instant at, std::vector<sim::EntryId> evidence);
  [[nodiscard]] std::vector<sim::EntryId> evidence_of(const Breach& breach) const;

  std::vector<Facts> facts_;
  std::vector<Observation> observed_;
  std::vector<Open> open_;
  std::vector<Open>
      unreached_;  ///< kept apart: they open by a lost telegram and close when a way is there again
  std::vector<Offer> offers_;
  std::vector<Breach> scratch_;
  SceneWatch scenes_;
  std::size_t seen_ = 0;
  sim::Instant next_stuck_ = sim::never;  ///< not before this does another button count as stuck
  bool dirty_ = true;
};

/// Puts an observation into words, with the causing steps and their times, and a remedy.
Finding in_words(const Scenario& scenario, const World& world, const sim::Record& record,
                 const Observation& observation);

}  // namespace drybus::model
