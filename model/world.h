// The world: everything that changes in a run, as one plain value. Copy it and you have forked the run; compare two
// and you know whether they will go on alike.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "model/device.h"
#include "model/module.h"
#include "model/plate.h"
#include "model/script.h"
#include "sim/digest.h"
#include "sim/event_queue.h"
#include "sim/medium.h"

namespace drybus::model {

/// Event kinds of the model; the medium's come before them.
enum class Happening : std::uint16_t {
  timer = sim::first_free_event_kind,  ///< who: device, arg: Timer
  person,                              ///< who: index into people; goes on with their script
  contact,                             ///< who: device, arg: button, plus 0x100 when it closes
  faded,                               ///< who: device; its load arrives
};

/// What every device has, whatever its kind or firmware.
struct DeviceState {
  std::array<sim::EventQueue::Handle, timer_count> timers{};
  Buttons contacts = 0;  ///< pressed by somebody, or stuck
  Buttons stuck = 0;
  std::uint8_t powered = 1;
  ModeReason setup_ended_by = ModeReason::button;  ///< the last time
  Pattern indicator = Pattern::dark;
  Mode mode = Mode::normal;            ///< as the device tells it
  std::uint8_t believed_in_setup = 0;  ///< what the installer thinks
  std::uint8_t was_in_setup = 0;       ///< at least once since the run began
  std::uint8_t unused[2] = {};
  friend bool operator==(const DeviceState&, const DeviceState&) = default;
};

/// A module's load on its way from one level to another.
struct LoadState {
  sim::Instant begin{};
  sim::Duration duration{};
  Level from = 0;
  Level to = 0;
  sim::EventQueue::Handle arrival = sim::EventQueue::none;
  friend bool operator==(const LoadState&, const LoadState&) = default;

  [[nodiscard]] Level at(sim::Instant now) const;
};

struct PersonState {
  PlaceId place = 0;        ///< no_place while walking
  std::uint16_t step = 0;   ///< index into the script
  std::uint16_t phase = 0;  ///< of that step; see installer.cpp
  std::uint16_t done = 0;   ///< 1 when the script is at its end
  friend bool operator==(const PersonState&, const PersonState&) = default;
};

struct World {
  sim::Instant now = sim::start_of_run;
  std::uint64_t seed = 0;
  sim::EventQueue queue;
  sim::Medium medium;
  std::vector<DeviceState> devices;
  std::vector<PlateState> plates;
  std::vector<ModuleState> modules;
  std::vector<LoadState> loads;  ///< one for each module
  std::vector<PersonState> people;
  std::vector<std::byte>
      firmware;  ///< what a DeviceLogic of one's own remembers, device by device; mostly empty

  friend bool operator==(const World&, const World&) = default;
};

/// A quick hash of the whole world, for tables and comparisons within one program; equal worlds hash alike.
std::uint64_t hash_of(const World& world);

/// Adds all that is in the world, in a fixed order.
void add_to(sim::Digest& digest, const World& world);

}  // namespace drybus::model
