// How devices react with one thing out of order.
#pragma once

#include "model/site/device_logic.h"
#include "model/suite/mutants.h"

namespace drybus::model {

/// The reference model with a mutant's difference. The mutant must outlive it.
class MutantLogic final : public DeviceLogic {
 public:
  explicit MutantLogic(const Mutant& mutant) : mutant_(mutant) {}

  void plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) override {
    if (mutant_.plate == nullptr) return react(turn.family(), stimulus, state, effects);
    mutant_.plate(turn.family(), stimulus, state, effects);
  }
  void module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
              Effects& effects) override {
    if (mutant_.module == nullptr) return react(turn.family(), stimulus, state, effects);
    mutant_.module(turn.family(), stimulus, state, effects);
  }
  void module_lost_power(const DeviceTurn& turn, const ModuleState& before, ModuleState& left) override {
    if (mutant_.module_lost_power != nullptr) mutant_.module_lost_power(turn.family(), before, left);
  }

 private:
  const Mutant& mutant_;
};

/// The scenario with what a mutant changes of the family.
inline Scenario altered_by(const Mutant& mutant, Scenario scenario) {
  if (mutant.family == nullptr) return scenario;
  mutant.family(scenario.site.family);
  for (Family& other : scenario.site.other_families) mutant.family(other);
  return scenario;
}

}  // namespace drybus::model
