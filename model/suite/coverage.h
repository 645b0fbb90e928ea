// What of the devices' state diagrams a run visits: states, transitions and time-outs, counted at the
// reactions.
//
// The tables are the diagrams of plate.h and module.h, taken apart: each edge says from where, by what and
// under which condition, and what comes of it. Several edges may be taken by one reaction: an "on" makes a
// module blip, too.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/site/device_logic.h"

namespace drybus::model {

/// A reaction that has taken place, or a loss of power: then `stimulus` is null and there are no effects.
template <class State>
struct Transition {
  const Family& family;
  const Stimulus* stimulus = nullptr;
  const State& before;
  const State& after;
  const Effects& effects;
};

template <class State>
struct Edge {
  std::string_view from;    ///< "normal", "setup" or "any"
  std::string_view by;      ///< stimulus and condition
  std::string_view to;      ///< "normal", "setup" or "same"
  std::string_view effect;  ///< what comes of it
  bool (*taken)(const Transition<State>&) = nullptr;
  /// Whether it can be taken at all in a family; null: in any.
  bool (*possible)(const Family&) = nullptr;
};

std::span<const Edge<PlateState>> plate_edges();
std::span<const Edge<ModuleState>> module_edges();

/// A mode with what the indicator shows in it.
struct VisibleState {
  Mode mode{};
  Pattern shown{};
};
std::span<const VisibleState> plate_states();
std::span<const VisibleState> module_states();

/// The timers that a kind of device has.
std::span<const Timer> plate_timers();
std::span<const Timer> module_timers();

/// How often each was visited, in the order of the tables.
struct Visits {
  std::vector<std::uint64_t> edges;
  std::vector<std::uint64_t> states;
  std::vector<std::uint64_t> timers;  ///< ran out
  std::vector<bool> possible;         ///< each edge, in the families of the runs
};

/// How often each row of a family's machines was taken, in the order of its file.
struct RowVisits {
  Machine plate_machine;
  Machine module_machine;
  std::vector<std::uint64_t> plate;
  std::vector<std::uint64_t> module;
};

/// Reacts as the reference model does, and counts.
class Coverage final : public DeviceLogic {
 public:
  Coverage();

  /// Counts which edges a family can take at all.
  void take_family(const Family& family);

  void plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) override;
  void module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
              Effects& effects) override;
  void plate_lost_power(const DeviceTurn& turn, const PlateState& before, PlateState& left) override;
  void module_lost_power(const DeviceTurn& turn, const ModuleState& before, ModuleState& left) override;

  void add(const Coverage& other);
  [[nodiscard]] const Visits& plates() const { return plates_; }
  [[nodiscard]] const Visits& modules() const { return modules_; }
  /// By the family's name.
  [[nodiscard]] const std::map<std::string, RowVisits>& rows() const { return rows_; }

 private:
  Visits plates_;
  Visits modules_;
  std::map<std::string, RowVisits> rows_;
};

}  // namespace drybus::model
