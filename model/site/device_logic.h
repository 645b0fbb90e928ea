// How devices react. The reference model's own reactions, unless a run is given something else in their
// place: one that watches them, one with something wrong in it, or somebody's firmware.
#pragma once

#include "model/devices/device.h"
#include "model/devices/module.h"
#include "model/devices/plate.h"
#include "model/site/site.h"

namespace drybus::model {

struct World;

/// Whose turn it is to react, and in which world.
struct DeviceTurn {
  const Site& site;
  World& world;
  DeviceId device = no_device;

  [[nodiscard]] const Family& family() const { return site.family_of(device); }
};

/// Every reaction of a run goes through it. What it does must depend on its arguments alone, and what it
/// remembers must lie in the world: one logic serves many worlds, in several threads.
class DeviceLogic {
 public:
  virtual void plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) {
    react(turn.family(), stimulus, state, effects);
  }
  virtual void module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
                      Effects& effects) {
    react(turn.family(), stimulus, state, effects);
  }

  /// The power went. `left` is what the reference model has left of `before`.
  virtual void plate_lost_power(const DeviceTurn&, const PlateState& before, PlateState& left) {
    static_cast<void>(before), static_cast<void>(left);
  }
  virtual void module_lost_power(const DeviceTurn&, const ModuleState& before, ModuleState& left) {
    static_cast<void>(before), static_cast<void>(left);
  }

  /// Puts into a new world what the logic needs there.
  virtual void prepare(const Site&, World&) {}

  /// Whether devices of that kind are given telegrams whose CRC does not fit, too: as Stimulus::intact says.
  [[nodiscard]] virtual bool hears_damaged(bool plate) const { return static_cast<void>(plate), false; }

  /// How many bytes of World::firmware belong to one device of that kind.
  [[nodiscard]] virtual std::size_t bytes_per_device(bool plate) const { return static_cast<void>(plate), 0; }

 protected:
  ~DeviceLogic() = default;
};

}  // namespace drybus::model
