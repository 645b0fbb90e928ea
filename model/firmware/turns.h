// Turns of a polled firmware's main loop: what the host remembers of them, and which of them need not be gone through.
//
// A turn in which a device asks for nothing, writes no memory and draws no number is quiet. After a quiet one
//
//   - that left all variables as they were and read no clock, every further turn is the same until something reaches the
//     device: none is gone through;
//   - that asked whether some time had passed (`passed`), likewise, until the first of the answers changes;
//   - that read the clock, or counted something, the turns ahead are gone through on a copy until one is not as foreseen,
//     and nothing but that one needs an event.
//
// So a turn is left out only when it was gone through ahead of its time, or when nothing that it depends on has changed.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "sim/time.h"

namespace drybus::model {

/// A 32-bit word of the state that grows by the same amount with each quiet turn.
struct TurnCounter {
  std::uint32_t at = 0;  ///< bytes from the beginning of the state
  std::uint32_t by = 0;  ///< modulo 2^32; 0: there is none
};

/// What is remembered of a device's turns, in World::firmware. `latest` is never after the world's clock.
struct TurnState {
  sim::Instant began{};   ///< when the power came on: before the run, for a device that is old
  sim::Instant latest{};  ///< the last turn that the state knows of, or when the power came on
  std::array<TurnCounter, 2> counters{};
  std::uint32_t ahead = 0;        ///< how often in a row nothing was met ahead
  std::uint8_t born = 0;          ///< 1: the power came on once
  std::uint8_t clock_counts = 0;  ///< which clocks the firmware has read since then
  std::uint16_t unused = 0;
  std::uint64_t spare = 0;

  static constexpr std::uint8_t power_clock = 1;  ///< time since the power came on
  static constexpr std::uint8_t run_clock = 2;    ///< time since the run began
};
static_assert(sizeof(TurnState) == 48);

/// What a turn did beside asking for things.
struct TurnWatch {
  bool clock = false;               ///< it read a clock, or something that changes with the time
  bool wrote = false;               ///< it wrote to memory
  bool set_level = false;           ///< it asked for a level that is not there
  sim::Instant wakes = sim::never;  ///< when `passed` next gives another answer
};

/// The first turn that comes neither before `now` nor before the one after `latest`.
sim::Instant next_turn(const TurnState& turns, sim::Duration period, sim::Instant now);

/// Counts the turns that come before `now` and were left out.
void settle(TurnState& turns, std::span<std::byte> state, sim::Duration period, sim::Instant now);

/// Forgets what was foreseen: something has reached the device.
void expect_anything(TurnState& turns);

/// What a quiet turn counted; nothing when it changed more than that.
std::optional<std::array<TurnCounter, 2>> counters_of(std::span<const std::byte> before,
                                                      std::span<const std::byte> after);

/// Adds what `turns` quiet turns count.
void count(const std::array<TurnCounter, 2>& counters, std::uint64_t turns, std::span<std::byte> state);

/// How many turns are gone through ahead of their time.
std::uint64_t turns_ahead(const TurnState& turns);

}  // namespace drybus::model
