// The dimmer module: a pure reaction from state and stimulus to next state and effects. What it does stands in its family's
// machine (family/machine.h); here are the services that the rows name: the contact, lamp and load, memory and its writes.
// A power cut, from anywhere, leads back to the first state; what it leaves of memory, and of a write that it interrupts, the
// family says.
#pragma once

#include <array>
#include <cstdint>

#include "model/devices/device.h"
#include "model/family/address.h"
#include "sim/fields.h"

namespace drybus::model {

/// A scene for which nothing was stored.
inline constexpr Level no_scene_level = 0xffff;
constexpr std::array<Level, max_scenes> no_scenes() {
  std::array<Level, max_scenes> levels{};
  levels.fill(no_scene_level);
  return levels;
}

/// What survives a power cut.
struct ModuleMemory {
  Address address{};  ///< the factory's site with zone 0 and channel 0 while unaddressed
  PowerUp power_up = PowerUp::full;
  Level last_level = 0;
  std::array<Level, max_scenes> scenes{};
  friend bool operator==(const ModuleMemory&, const ModuleMemory&) = default;
  [[nodiscard]] bool addressed() const { return address.channel != 0; }

  static constexpr auto fields() {
    using sim::field, sim::in_hidden, sim::in_state;
    return std::tuple{field(&ModuleMemory::address, in_state | in_hidden),
                      field(&ModuleMemory::power_up, in_state | in_hidden),
                      field(&ModuleMemory::last_level, in_state), field(&ModuleMemory::scenes, in_state)};
  }
};

/// As a module leaves the factory; scene 1 is full, the others are evenly spaced below it.
ModuleMemory factory_memory(const ModuleFamily& family);

struct ModuleState {
  ModuleMemory memory;
  ModuleMemory writing;  ///< on its way to memory while `storing`
  Level target = 0;      ///< where the load is or is going, a flash apart
  Mode mode = Mode::normal;
  std::uint8_t storing = 0;
  std::uint8_t down = 0;   ///< the local button, debounced
  std::uint8_t spent = 0;  ///< the press has already had its effect
  std::uint8_t settling = 0;
  std::uint8_t awake = 0;  ///< blips are shown
  std::uint8_t steady = 0;
  std::uint8_t breathing = 0;
  std::uint8_t blipping = 0;
  std::uint8_t flashing = 0;
  Pattern shown = Pattern::dark;
  std::uint8_t stage = 0;  ///< which of the machine's states of that mode
  /// How often the supply came on, each time only briefly; a power cut leaves it.
  std::uint8_t counted = 0;
  Address offered{};        ///< waits to be confirmed
  std::uint8_t moving = 0;  ///< the load was last told to rise or to sink, which `stop` ends
  std::uint8_t unused = 0;
  friend bool operator==(const ModuleState&, const ModuleState&) = default;

  /// What it will remember, whether it is written already or under way.
  [[nodiscard]] const ModuleMemory& newest() const { return storing != 0 ? writing : memory; }
  /// What was set aside for a write makes no difference while nothing is written.
  void forget_what_is_over() {
    if (storing == 0) writing = {};
  }

  static constexpr auto fields() {
    using sim::field, sim::in_hidden, sim::in_state;
    // Hidden is what it remembers; `newest` says which of the two that is.
    return std::tuple{field(&ModuleState::memory, in_state),    field(&ModuleState::writing, in_state),
                      field(&ModuleState::target, in_state),    field(&ModuleState::mode, in_state),
                      field(&ModuleState::storing, in_state),   field(&ModuleState::down, in_state),
                      field(&ModuleState::spent, in_state),     field(&ModuleState::settling, in_state),
                      field(&ModuleState::awake, in_state),     field(&ModuleState::steady, in_state),
                      field(&ModuleState::breathing, in_state), field(&ModuleState::blipping, in_state),
                      field(&ModuleState::flashing, in_state),  field(&ModuleState::shown, in_state),
                      field(&ModuleState::stage, in_state),     field(&ModuleState::counted, in_state),
                      field(&ModuleState::offered, in_state),   field(&ModuleState::moving, in_state),
                      field(&ModuleState::unused, in_state)};
  }
};

class RowsTaken;

/// Applies one stimulus to `state` and adds what is to be done to `effects`, and to `rows` which rows of the machine that
/// took. Depends on nothing else.
void react(const Family& family, const Stimulus& stimulus, ModuleState& state, Effects& effects,
           RowsTaken* rows = nullptr);

/// What a power cut leaves of a state, and of a load that had come to `level`.
ModuleState after_power_cut(const ModuleFamily& family, const ModuleState& state, Level level);

/// Which pattern shows, in the order that the family's machine has.
Pattern shown_pattern(const ModuleFamily& family, const ModuleState& state);

/// Whether modules of the family do anything at all on such a telegram.
bool knows(const ModuleFamily& family, TelegramKind kind);

/// The same, for such a command to a zone, a group of zones or a whole site.
bool knows(const ModuleFamily& family, TelegramKind kind, Scope scope);

/// The same, and for a scene that they have as many.
bool understands(const ModuleFamily& family, const Telegram& telegram);

/// Whether the module obeys a plate of this site and zone: an unaddressed one obeys every zone of its site number.
bool obeys(const ModuleMemory& memory, std::uint8_t site, std::uint8_t zone);

/// Whether a module with this memory is one of those whom the telegram is for. An unaddressed one takes all of its site
/// number for its own. A telegram of a group means nobody of a family that knows no groups.
bool is_meant(const ModuleFamily& family, const ModuleMemory& memory, const Telegram& telegram);

/// Whether two zones are in one group, with so many zones in each.
bool in_one_group(std::uint8_t group, std::uint8_t zone, std::uint8_t other);

}  // namespace drybus::model
