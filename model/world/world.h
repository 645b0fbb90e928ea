// The world: everything that changes in a run, as one plain value. Copy it and you have forked the run; compare two
// and you know whether they will go on alike.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "model/devices/device.h"
#include "model/devices/module.h"
#include "model/devices/plate.h"
#include "model/people/script.h"
#include "sim/digest.h"
#include "sim/event_queue.h"
#include "sim/fields.h"
#include "sim/medium.h"

namespace drybus::model {

/// Event kinds of the model; the medium's come before them.
enum class Happening : std::uint16_t {
  timer = sim::first_free_event_kind,  ///< who: device, arg: Timer
  person,                              ///< who: index into people; goes on with their script
  contact,                             ///< who: device, arg: button, plus 0x100 when it closes
  settled,                             ///< who: plate, arg: Buttons whose debounce time is over
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
  std::uint8_t believed_in_setup = 0;  ///< what the installer thinks
  Mode mode = Mode::normal;            ///< as the device tells it
  std::uint8_t was_in_setup = 0;       ///< at least once since the run began
  /// Of a module: one more than the number of the plate with which it is in setup, or is out of step; 0 is none. Of a
  /// plate: 1 when somebody has taken an address from it since its setup last began. See world/partners.h. It follows from
  /// what is recorded, and so is not in the digest.
  std::uint16_t partner = 0;
  friend bool operator==(const DeviceState&, const DeviceState&) = default;

  static constexpr auto fields() {
    using sim::field, sim::in_hidden, sim::in_nothing, sim::in_state;
    return std::tuple{field(&DeviceState::timers, in_nothing),  // places in the queue, whose events count
                      field(&DeviceState::contacts, in_state),
                      field(&DeviceState::stuck, in_state | in_hidden),
                      field(&DeviceState::powered, in_state | in_hidden),
                      field(&DeviceState::setup_ended_by, in_state),
                      field(&DeviceState::indicator, in_state),
                      field(&DeviceState::believed_in_setup, in_state),
                      field(&DeviceState::mode, in_state | in_hidden),
                      field(&DeviceState::was_in_setup, in_state),
                      field(&DeviceState::partner, sim::in_key)};
  }
};

/// A module's load: still, or on its way from one level to another; and what it shows in place of that while it flashes.
struct LoadState {
  sim::Instant begin{};
  sim::Duration duration{};
  Level from = 0;
  Level to = 0;
  Level flash = 0;        ///< one more than the level that it shows in a flash; 0: it is in none
  std::uint8_t dead = 0;  ///< it gives no light, whatever the module does
  std::uint8_t unused = 0;
  sim::EventQueue::Handle arrival = sim::EventQueue::none;
  std::uint32_t unused_too = 0;
  friend bool operator==(const LoadState&, const LoadState&) = default;

  /// What it shows.
  [[nodiscard]] Level at(sim::Instant now) const {
    return flash != 0 ? static_cast<Level>(flash - 1) : beneath(now);
  }
  /// Where it is, a flash apart.
  [[nodiscard]] Level beneath(sim::Instant now) const;

  static constexpr auto fields() {
    using sim::field, sim::in_digest, sim::in_hidden, sim::in_key, sim::in_nothing, sim::in_state;
    return std::tuple{field(&LoadState::begin, in_digest),  // a search knows it by when the load arrives
                      field(&LoadState::duration, in_state),
                      field(&LoadState::from, in_state),
                      field(&LoadState::to, in_state),
                      field(&LoadState::flash, in_state),
                      field(&LoadState::dead, in_key | in_hidden),  // the record tells of it
                      field(&LoadState::unused, in_nothing),
                      field(&LoadState::arrival, in_nothing),  // a place in the queue
                      field(&LoadState::unused_too, in_nothing)};
  }
};

struct PersonState {
  PlaceId place = 0;        ///< no_place while walking
  std::uint16_t step = 0;   ///< index into the script
  std::uint16_t phase = 0;  ///< of that step; see installer.cpp
  std::uint16_t done = 0;   ///< 1 when the script is at its end
  friend bool operator==(const PersonState&, const PersonState&) = default;

  static constexpr auto fields() {
    using sim::field, sim::in_state;
    return std::tuple{field(&PersonState::place, in_state), field(&PersonState::step, in_state),
                      field(&PersonState::phase, in_state), field(&PersonState::done, in_state)};
  }
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

  static constexpr auto fields() {
    using sim::field, sim::in_digest, sim::in_hidden, sim::in_state;
    return std::tuple{field(&World::now, in_digest),   // a search meets one situation at many times of day
                      field(&World::seed, in_digest),  // one for all worlds of a search
                      field(&World::queue, in_state),
                      field(&World::medium, in_state | in_hidden),
                      field(&World::devices, in_state | in_hidden),
                      field(&World::plates, in_state | in_hidden),
                      field(&World::modules, in_state | in_hidden),
                      field(&World::loads, in_state),
                      field(&World::people, in_state),
                      field(&World::firmware, in_state)};
  }
};

/// A quick hash of the whole world, for tables and comparisons within one program; equal worlds hash alike.
std::uint64_t hash_of(const World& world);

/// Adds all that is in the world, in a fixed order.
void add_to(sim::Digest& digest, const World& world);

}  // namespace drybus::model
