// The curtain before what nobody on site can see. While it is drawn, what is behind it does not leave the
// server: modes, time left, addresses, telegrams, findings, faults, and the lamps of rooms in which nobody
// stands.
#pragma once

#include <vector>

#include "tools/panel/bench.h"

namespace drybus::tools {

enum class Curtain : bool { open, drawn };

/// Whether somebody stands at this moment where the device can be seen.
bool anybody_sees(const Branch& branch, model::DeviceId device);

/// Who stood where when, read off a record entry by entry.
class Lookouts {
 public:
  explicit Lookouts(const model::Scenario& scenario);

  /// Takes in the entries that are new.
  void take_in(const sim::Record& record);
  /// As the entry was made. REQUIRES: it was taken in.
  [[nodiscard]] bool anybody_at(model::PlaceId place, sim::EntryId entry) const;

 private:
  struct Move {
    sim::EntryId entry = sim::no_entry;
    model::PlaceId place = model::no_place;
  };
  std::vector<std::vector<Move>> moves_;  ///< of each person, ascending
  std::size_t taken_ = 0;
};

/// Whether somebody on site could know of what the entry tells.
bool is_seen(const model::Scenario& scenario, const Lookouts& lookouts, const sim::Record& record,
             sim::EntryId id);

/// The findings of a branch that are told: none behind the curtain, and none that the class is being asked
/// for.
std::vector<model::Observation> told_observations(const Bench& bench, const Course& course, Curtain curtain);

}  // namespace drybus::tools
