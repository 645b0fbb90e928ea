// What a hunt is after: a finding that is to come about, or a fact that is to be otherwise.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/findings/findings.h"
#include "model/people/script.h"
#include "model/record/trace.h"
#include "model/world/key.h"
#include "model/world/world.h"
#include "sim/record.h"

namespace drybus::model {

/// An invariant, and so what breaks it: a finding that must not come about, or else a fact that must hold after each step.
struct HuntGoal {
  std::optional<FindingId> finding;
  Check expectation{};   ///< without a finding: of a device, not of findings
  bool negated = false;  ///< the fact must not be as the check wants it
};

/// Whether a search can tell that the finding comes about: not where that hangs on what was done many moves before, and no
/// world tells.
bool can_be_hunted(FindingId finding);

/// "no setup-split", "M1.address is 23/4/1", "M2.mode is not setup"
std::string describe(const Scenario& scenario, const HuntGoal& goal);

/// A set of notes, a bit for each What.
using Notes = std::uint64_t;
constexpr Notes notes() {
  return 0;
}
template <class... More>
constexpr Notes notes(What first, More... more) {
  return Notes{1} << static_cast<unsigned>(first) | notes(more...);
}

/// Tells whether the invariant is broken, at the least cost that the goal allows. Agrees with FindingWatch, which watches
/// whole runs; tests/model/hunt_judge_test.cpp compares them.
class Judge {
 public:
  /// How the goal can be recognised.
  enum class By : std::uint8_t {
    state,   ///< from the world, when something of a certain kind was noted
    note,    ///< from what was noted alone
    record,  ///< by FindingWatch, from a record of the one step in which it comes about
    memory,  ///< from what happened within the last seconds, which no world tells
    end,     ///< from the world after each step
  };

  /// The scenario must outlive the judge.
  Judge(const Scenario& scenario, const HuntGoal& goal);

  [[nodiscard]] By by() const { return by_; }

  /// By::state, By::note: to be asked after each event in which any of `relevant` was noted.
  [[nodiscard]] Notes relevant() const { return relevant_; }
  [[nodiscard]] bool broken_by_event(const World& world);

  /// By::record: whether a step in which so much was noted has to be done again with a record.
  [[nodiscard]] bool is_suspicious(Notes noted) const { return (noted & relevant_) != 0; }
  [[nodiscard]] bool broken_by_record(const FindingWatch& watch, const World& world) const;

  /// By::end: to be asked after each step.
  [[nodiscard]] bool broken_at_end(const World& world);

  // By::memory: instants that belong to a state; `never` is none. Each device has a stretch of them.
  [[nodiscard]] std::size_t memory_size() const { return first_remembered_.back(); }
  [[nodiscard]] std::size_t first_remembered(std::size_t device) const { return first_remembered_[device]; }
  /// Whether entries are needed for that; contacts can be seen in the world.
  [[nodiscard]] bool needs_entries() const { return goal_.finding == FindingId::blip_asleep; }
  /// Takes in entries of one event, and says whether the invariant is broken. REQUIRES: needs_entries().
  bool remember(const World& world, std::span<const sim::Entry> entries,
                std::vector<sim::Instant>& memory) const;
  /// Takes in which contacts are closed, after an event in which any changed, and says whether the invariant is broken.
  /// REQUIRES: not needs_entries().
  bool remember_contacts(const World& world, std::vector<sim::Instant>& memory) const;
  /// Whether what is remembered breaks the invariant by itself by now.
  [[nodiscard]] bool broken_by_memory(const World& world, const std::vector<sim::Instant>& memory) const;
  /// What of the memory can still matter, as a time that has gone by; `gone` is nothing.
  static constexpr sim::Duration gone{-1};
  [[nodiscard]] sim::Duration age(const World& world, sim::Instant remembered) const;
  /// Adds how long it takes until something remembered matters by itself.
  void add_deadlines(const World& world, const std::vector<sim::Instant>& memory,
                     std::vector<sim::Duration>& left) const;

  /// What of modules' intended addresses makes a difference to the goal.
  [[nodiscard]] IntendedOf asks_for_intended() const;
  /// The module that the goal names, if it does.
  [[nodiscard]] std::vector<DeviceId> named() const;

 private:
  [[nodiscard]] static bool anybody_in_setup(const World& world);
  [[nodiscard]] bool some_module_unaddressed(const World& world) const;
  [[nodiscard]] bool some_scene_wrong(const World& world) const;
  bool remember_unshown(const World& world, const sim::Entry& entry, std::vector<sim::Instant>& memory) const;
  [[nodiscard]] bool held_too_long(const World& world, const std::vector<sim::Instant>& memory,
                                   std::size_t i) const {
    return memory[i] != sim::never && memory[i] + stuck_after_[i] <= world.now;
  }

  const Scenario& scenario_;
  HuntGoal goal_;
  By by_ = By::end;
  Notes relevant_ = 0;
  std::vector<Breach> breaches_;
  std::vector<sim::Duration> stuck_after_;     ///< by what is remembered
  std::vector<std::size_t> first_remembered_;  ///< by device, and at last how many there are in all
  /// Facts already compared, by their value in a number: comparing words is slow.
  struct Known {
    std::uint32_t value = 0;
    bool filled = false;
    bool holds = false;
  };
  std::array<Known, 64> known_{};
};

}  // namespace drybus::model
