// How devices react with one thing out of order.
#pragma once

#include "model/device_logic.h"
#include "model/mutants.h"

namespace drybus::model {

/// The reference model with a mutant's difference. The mutant must outlive it.
class MutantLogic final : public DeviceLogic {
 public:
  explicit MutantLogic(const Mutant& mutant) : mutant_(mutant) {}

  void plate(const Family& family, const Stimulus& stimulus, PlateState& state, Effects& effects) override {
    if (mutant_.plate == nullptr) return react(family, stimulus, state, effects);
    mutant_.plate(family, stimulus, state, effects);
  }
  void module(const Family& family, const Stimulus& stimulus, ModuleState& state, Effects& effects) override {
    if (mutant_.module == nullptr) return react(family, stimulus, state, effects);
    mutant_.module(family, stimulus, state, effects);
  }
  void module_lost_power(const Family& family, const ModuleState& before, ModuleState& left) override {
    if (mutant_.module_lost_power != nullptr) mutant_.module_lost_power(family, before, left);
  }

 private:
  const Mutant& mutant_;
};

/// The scenario with what a mutant changes of the family.
inline Scenario altered_by(const Mutant& mutant, Scenario scenario) {
  if (mutant.family != nullptr) mutant.family(scenario.site.family);
  return scenario;
}

}  // namespace drybus::model
