// Devices that go through one loop at a steady pace, whether or not anything happens. Beside DeviceLogic: a logic that has
// such devices is this, too.
//
// Turns of the loop that can change nothing are left out, and what they would have counted is added later. So what such a
// device remembers may lag behind; whoever looks at it has it brought up to the moment first.
#pragma once

#include <cstdint>
#include <optional>
#include <span>

#include "model/site/device_logic.h"

namespace drybus::model {

class Ticking {
 public:
  /// The timer by which the next turn comes due. Firmware has no timer of this number.
  static constexpr Timer turn_timer = Timer::confirm;

  /// Whether that device has turns.
  [[nodiscard]] virtual bool ticks(const Site& site, DeviceId device) const = 0;

  /// Something changed that the device may look at, and nobody told it: its switches.
  virtual void look_again(const DeviceTurn& turn, Effects& effects) = 0;

  /// Brings what all devices remember up to the world's clock.
  virtual void settle(const Site& site, World& world) const = 0;

  /// Makes a copy of a device's block what a search may know it by: up to the clock, with the time left until the next turn in
  /// place of times of day.
  virtual void make_key(const Site& site, const World& world, DeviceId device,
                        std::span<std::uint64_t> block) const = 0;

  /// When a device that nothing happens to next does something, if that can be foreseen and is a while ahead.
  [[nodiscard]] virtual std::optional<sim::Instant> next_change(const Site& site, const World& world,
                                                                DeviceId device) const = 0;

 protected:
  ~Ticking() = default;
};

/// Null when none of its devices has turns.
inline Ticking* ticking_of(DeviceLogic* logic) {
  return logic == nullptr ? nullptr : dynamic_cast<Ticking*>(logic);
}

}  // namespace drybus::model
