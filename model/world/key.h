// What tells one world from another as far as the future goes: two worlds with the same key go on alike, whatever is done
// to them. A search meets the same situation at many times of day; by their keys it knows it again.
//
// In the key: every device's state and memory (a firmware's with its draws), loads, what the installer believes and where
// they stand, the medium, and all pending events with the time left until each, in the order in which they will happen.
// Not in the key: the clock, the causes of events (they name entries of a record), the order numbers and places of pending
// events, transmissions that are over and can no longer be sensed, and what a module has set aside for a write while it is
// not writing. How far random streams have been drawn is in the key: it decides what the next draw is. A stream that
// nothing draws from stays where it is, and so never tells two worlds apart.
// The clock is in the key after all while anybody but the installer has a step ahead that begins at a given time.
#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

#include "model/people/script.h"
#include "model/world/world.h"

namespace drybus::model {

class Ticking;

/// Devices that can change places without anybody noticing but by their names.
using Alike = std::vector<std::vector<DeviceId>>;

/// What of modules' intended addresses tells them apart.
enum class IntendedOf : std::uint8_t {
  nothing,
  plate,   ///< site and zone: for which plate they are
  module,  ///< all of it
};

/// Modules that nothing in the site tells apart: the same place, the same reach, the same wiring, and all ours or none.
/// `intended`: nor what is asked of their intended addresses. `named`: modules that are not like any other.
///
/// Such modules may be exchanged in a world, with all that is theirs, and what can follow is the same but for their names:
/// modules never send, a reaction touches nothing but its own device, and what the installer does to one can be done to the
/// other. Not so when a noisy link draws for each receiver from a stream of its own; then no modules are alike.
Alike alike_modules(const Scenario& scenario, const World& world, IntendedOf intended,
                    std::span<const DeviceId> named);

/// How many arrangements of such devices count as one, at most.
double arrangements(const Alike& alike);

/// Writes keys of one scenario's worlds. Worlds that differ only in which of the `alike` modules is which have one key.
class WorldKey {
 public:
  /// Keys hold what differs from `base`, so that they are short for worlds that are near it.
  WorldKey(const Scenario& scenario, const World& base, Alike alike = {});

  /// Appends the world's key, in parts (sim/key_parts.h): of each device, of what is pending, of all else. REQUIRES: the world is one of the scenario's.
  void write(const World& world, std::vector<std::byte>& key);

  /// Of the world written last: the device at each place in the key. Like devices may take one another's.
  [[nodiscard]] std::span<const DeviceId> order() const { return takes_; }

 private:
  struct Pending {
    sim::Instant at;
    std::uint64_t order;
    std::uint32_t arg;
    DeviceId who;
    std::uint8_t code;
  };

  void gather_events(const World& world);
  void gather_words(const World& world);
  void gather_device(const World& world, DeviceId device);
  void copy_firmware(const World& world, DeviceId device, std::size_t from, std::size_t count, std::uint64_t* words) const;
  void rank_alike(const World& world);
  void settle_ties();
  void put_words(std::vector<std::byte>& key);
  void put_word(std::uint64_t differs, std::byte* bits, std::size_t index);
  void put_events(const World& world);
  void put_medium(const World& world);
  void put_transmissions(const World& world);
  void put_people(const World& world);
  [[nodiscard]] bool clock_matters(const World& world) const;
  [[nodiscard]] DeviceId rank(DeviceId device) const {
    return device < ranks_.size() ? ranks_[device] : device;
  }
  [[nodiscard]] std::size_t word_of(DeviceId device) const;

  /// What was put since the last one is a part.
  void end_part(std::vector<std::byte>& key);
  void put_byte(std::uint8_t byte) { *end_++ = static_cast<std::byte>(byte); }
  void put_number(std::uint64_t number);
  void put_signed(std::int64_t number);

  const Scenario& scenario_;
  const Ticking* ticking_;  ///< null: none of its devices has turns
  Alike alike_;
  std::size_t plates_;
  std::size_t plate_words_;           ///< of each plate
  std::size_t module_words_;          ///< of each module
  std::vector<std::uint64_t> base_;   ///< words of the base
  std::vector<std::uint64_t> words_;  ///< a fixed number for each plate, then for each module
  std::vector<Pending> events_;
  std::vector<DeviceId> ranks_;  ///< whose place in the key each device takes
  std::vector<DeviceId> takes_;  ///< and the other way round
  std::vector<std::pair<std::uint64_t, DeviceId>> order_;
  std::vector<std::uint64_t> sums_;
  std::vector<std::byte> buffer_;
  std::byte* end_ = nullptr;
};

}  // namespace drybus::model
