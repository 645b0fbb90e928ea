// How devices react. The reference model's own reactions, unless a run is given something else in their place: one that
// watches them, or one with something wrong in it.
#pragma once

#include "model/device.h"
#include "model/module.h"
#include "model/plate.h"

namespace drybus::model {

/// Every reaction of a run goes through it. What it does must depend on its arguments alone.
class DeviceLogic {
 public:
  virtual void plate(const Family& family, const Stimulus& stimulus, PlateState& state, Effects& effects) {
    react(family, stimulus, state, effects);
  }
  virtual void module(const Family& family, const Stimulus& stimulus, ModuleState& state, Effects& effects) {
    react(family, stimulus, state, effects);
  }

  /// The power went. `left` is what the reference model has left of `before`.
  virtual void plate_lost_power(const Family&, const PlateState& before, PlateState& left) {
    static_cast<void>(before), static_cast<void>(left);
  }
  virtual void module_lost_power(const Family&, const ModuleState& before, ModuleState& left) {
    static_cast<void>(before), static_cast<void>(left);
  }

 protected:
  ~DeviceLogic() = default;
};

}  // namespace drybus::model
