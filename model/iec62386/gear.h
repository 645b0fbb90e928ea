// Control gear as a pure reaction: from what it is, its state and one stimulus to its next state and effects. It draws
// nothing and knows no clock but the one that a stimulus brings; times that run are timers, which the driver keeps.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "model/iec62386/frame.h"
#include "model/iec62386/levels.h"
#include "model/iec62386/searcher.h"
#include "model/iec62386/timing.h"
#include "sim/enumeration.h"
#include "sim/fields.h"

namespace drybus::iec62386 {

/// 0 or 1: states that are packed into words hold no bool.
using Flag = std::uint8_t;

inline constexpr std::uint16_t no_groups = 0;
inline constexpr std::size_t scene_count = 16;

/// What no state changes: as it was made.
struct GearKind {
  std::uint8_t type = 6;  ///< device type: 6 is for LEDs
  Level physical_minimum = 1;
};

/// What outlasts a power cut. The values are those of new gear.
struct GearMemory {
  ShortAddress short_address = no_short;
  RandomAddress random = last_random;
  std::uint16_t groups = no_groups;
  std::array<Level, scene_count> scenes = {mask, mask, mask, mask, mask, mask, mask, mask,
                                           mask, mask, mask, mask, mask, mask, mask, mask};
  Level max_level = 254;
  Level min_level = 1;
  Level power_on = 254;        ///< 255: as it was
  Level system_failure = 254;  ///< 255: stays
  std::uint8_t fade_time = 0;
  std::uint8_t fade_rate = 7;
  std::uint8_t extended_fade = 0;
  Level last_active = 254;
  Level last_level = 254;  ///< when the power went

  static constexpr auto fields() {
    using M = GearMemory;
    using sim::field, sim::in_state;
    return std::tuple{field(&M::short_address, in_state), field(&M::random, in_state),
                      field(&M::groups, in_state),        field(&M::scenes, in_state),
                      field(&M::max_level, in_state),     field(&M::min_level, in_state),
                      field(&M::power_on, in_state),      field(&M::system_failure, in_state),
                      field(&M::fade_time, in_state),     field(&M::fade_rate, in_state),
                      field(&M::extended_fade, in_state), field(&M::last_active, in_state),
                      field(&M::last_level, in_state)};
  }
  friend bool operator==(const GearMemory&, const GearMemory&) = default;
};

/// Times that run.
BOOST_DEFINE_FIXED_ENUM_CLASS(Timer, std::uint8_t, initialise, identify, twice, ready, reset, power_on,
                              line_failed)

struct GearState {
  GearMemory memory;
  Motion motion;  ///< of the level
  RandomAddress search = last_random;
  std::uint8_t dtr0 = 0;
  std::uint8_t dtr1 = 0;
  std::uint8_t dtr2 = 0;
  std::uint8_t enabled_type = 255;  ///< by the frame before; 255: none
  std::uint16_t waiting_for = 0;    ///< the frame that has to come again; 0: none
  Flag powered = 0;
  Flag ready = 0;  ///< hears the line
  Flag initialised = 0;
  Flag withdrawn = 0;
  Flag identifies = 0;
  Flag line_failed = 0;
  Flag limit_error = 0;
  Flag power_cycle_seen = 0;
  Flag lamp_failed = 0;
  Flag dead = 0;         ///< for good, until it is replaced
  Flag reset_state = 1;  ///< all as after RESET

  static constexpr auto fields();
  friend bool operator==(const GearState&, const GearState&) = default;
};

/// What happens to it.
struct Stimulus {
  enum class Kind : std::uint8_t { frame, mains_on, mains_off, timer, line_low, line_high };
  Kind kind = Kind::frame;
  sim::Instant now{};
  Timer timer = Timer::initialise;
  BitFrame frame;
};

/// What somebody who watches may want to know: what a reaction did.
BOOST_DEFINE_FIXED_ENUM_CLASS(Did, std::uint8_t, initialised, init_ended, init_ran_out, wants_random,
                              compared, withdrawn, programmed, level, clipped, mask_ignored, scene,
                              group_changed, scene_changed, setting_changed, dtr0_used, twice_begun,
                              twice_missed, wrong_type, not_ready, reset, identifies, identified,
                              group_followed, power_on_level, failure_level)

/// What is to be done about it.
struct Effects {
  std::optional<std::uint8_t> answer;
  std::uint32_t did = 0;  ///< a bit for each Did
  std::uint8_t set = 0;   ///< timers to start, a bit for each
  std::uint8_t stop = 0;  ///< timers to stop
  [[nodiscard]] bool has(Did what) const { return ((did >> static_cast<unsigned>(what)) & 1U) != 0; }
  void add(Did what) { did |= 1U << static_cast<unsigned>(what); }
};

/// How long a timer runs once it is started.
sim::Duration runs_for(Timer timer);

/// Whether a frame is said to this gear as it stands.
bool is_meant(const GearState& state, const Target& target);

/// The reaction. Chance is the driver's: where `wants_random` is done it puts a number into memory.random.
Effects react(const GearKind& kind, GearState& state, const Stimulus& stimulus);

/// The light that it makes now: level 0 where it is off, unpowered or its lamp is broken.
Level light(const GearState& state, sim::Instant now);

constexpr auto GearState::fields() {
  using G = GearState;
  using sim::field, sim::in_state;
  return std::tuple{field(&G::memory, in_state),       field(&G::motion, in_state),
                    field(&G::search, in_state),       field(&G::dtr0, in_state),
                    field(&G::dtr1, in_state),         field(&G::dtr2, in_state),
                    field(&G::enabled_type, in_state), field(&G::waiting_for, in_state),
                    field(&G::powered, in_state),      field(&G::ready, in_state),
                    field(&G::initialised, in_state),  field(&G::withdrawn, in_state),
                    field(&G::identifies, in_state),   field(&G::line_failed, in_state),
                    field(&G::limit_error, in_state),  field(&G::power_cycle_seen, in_state),
                    field(&G::lamp_failed, in_state),  field(&G::dead, in_state),
                    field(&G::reset_state, in_state)};
}

}  // namespace drybus::iec62386
