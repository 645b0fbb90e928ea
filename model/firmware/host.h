// What the host functions of model/firmware.h work on while one handler runs. Only for model/firmware.
#pragma once

#include <cstddef>
#include <cstdint>

#include "model/firmware.h"
#include "model/firmware/turns.h"
#include "model/site/device_logic.h"

namespace drybus::model {

/// What the host keeps of a device in World::firmware, before its state and memory.
struct FirmwareHeader {
  std::uint32_t draws = 0;
  std::uint16_t store_from = 0;  ///< memory that a power cut would spoil
  std::uint16_t store_to = 0;
  std::uint8_t storing = 0;
  std::uint8_t unused[7] = {};
};
static_assert(sizeof(FirmwareHeader) == 16);
/// Where a device's own state begins in its block.
inline constexpr std::size_t state_at = sizeof(FirmwareHeader);

const drybus_host& host_functions();

}  // namespace drybus::model

/// The C interface knows it by name only.
struct drybus_device {
  const drybus::model::DeviceTurn* turn = nullptr;
  const drybus::model::Stimulus* stimulus = nullptr;
  drybus::model::Effects* effects = nullptr;
  const drybus_numbers* numbers = nullptr;
  drybus::model::PlateState* plate = nullptr;    ///< the mirror: of a plate,
  drybus::model::ModuleState* module = nullptr;  ///< or of a module
  drybus::model::FirmwareHeader* header = nullptr;
  std::byte* memory = nullptr;
  std::uint32_t memory_size = 0;
  drybus::model::Pattern shown = drybus::model::Pattern::dark;
  drybus::sim::Instant now{};   ///< the world's; later for a turn that is gone through ahead of its time
  drybus::sim::Duration age{};  ///< how old the device was when the run began
  drybus::model::TurnState* turns = nullptr;  ///< of a device that has them
  drybus::model::TurnWatch* watch = nullptr;  ///< while such a turn is gone through
  std::uint32_t lines = 0;                    ///< that were logged
  mutable const char* misuse = nullptr;       ///< the first thing asked for that is impossible
};
