// What of a family's machines runs come through: rows that are taken, states, patterns that show, times that run out. All of it
// is read off the family's tables, and so counted for any family that somebody writes.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "model/site/device_logic.h"

namespace drybus::model {

/// How often each part of one machine was come through.
struct MachineVisits {
  MachineVisits(const Family& family, DeviceKind kind);

  void count(const Stimulus& stimulus, StateIndex state, Pattern shown, const RowsTaken& taken);
  void add(const MachineVisits& other);
  /// Rows never taken, states never entered, patterns never shown, times that never ran out, of those that there can be.
  [[nodiscard]] std::size_t holes() const;

  Machine machine;
  std::vector<std::uint64_t> rows;    ///< in the order of the file
  std::vector<std::uint64_t> states;  ///< reactions that ended there
  sim::ByEnum<Pattern, std::uint64_t> patterns;
  sim::ByEnum<Timer, std::uint64_t> timers;
  sim::ByEnum<Pattern, bool> can_show;
  sim::ByEnum<Timer, bool> can_run;
};

struct FamilyVisits {
  MachineVisits plate;
  MachineVisits module;
};

/// Reacts as the families say, and counts.
class Coverage final : public DeviceLogic {
 public:
  /// From now on what devices of this family do is counted. To be called before a run.
  void take_family(const Family& family);

  void plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) override;
  void module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state, Effects& effects) override;

  void add(const Coverage& other);
  /// By the family's name.
  [[nodiscard]] const std::map<std::string, FamilyVisits>& families() const { return families_; }
  [[nodiscard]] std::size_t holes() const;

 private:
  std::map<std::string, FamilyVisits> families_;
};

}  // namespace drybus::model
