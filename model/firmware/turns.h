// Turns of a polled firmware's main loop: what the host remembers of them, and which of them need not be gone through.
//
// A turn in which a device asks for nothing, writes no memory and draws no number is quiet. After a quiet one
//
//   - that left all variables as they were and read no clock, every further turn is the same until something reaches the
//     device: none is gone through;
//   - that asked whether some time had passed (`passed`), likewise, until the first of the answers changes;
//   - that read the clock, or counted something, the turns ahead are gone through on a copy until one is not as foreseen,
//     and nothing but that one needs an event. Where that goes on for long, one is looked into, instruction by instruction, for how
//     many of them it is proved to be the same (FirmwareCaller::foresee).
//
// So a turn is left out only when it was gone through ahead of its time, when that is proved to make no difference, or when nothing
// that it depends on has changed.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>

#include "sim/time.h"

namespace drybus::model {

/// A 32-bit word of the state that grows by the same amount with each quiet turn, or does so over and over from the same number on.
struct TurnCounter {
  std::uint32_t at = 0;     ///< bytes from the beginning of the state
  std::uint32_t by = 0;     ///< modulo 2^32; 0: there is none
  std::uint32_t from = 0;   ///< where it begins again,
  std::uint32_t round = 0;  ///< after so many turns; 0: it never does
};
inline constexpr std::size_t most_counters = 4;
using TurnCounters = std::array<TurnCounter, most_counters>;

/// What is remembered of a device's turns, in World::firmware. `latest` is never after the world's clock.
struct TurnState {
  sim::Instant began{};   ///< when the power came on: before the run, for a device that is old
  sim::Instant latest{};  ///< the last turn that the state knows of, or when the power came on
  TurnCounters counters{};
  std::uint32_t ahead = 0;         ///< how often in a row nothing was met ahead
  std::uint8_t born = 0;           ///< 1: the power came on once
  std::uint8_t clock_counts = 0;   ///< which clocks the firmware has read since then
  std::uint16_t not_foreseen = 0;  ///< 1: what the firmware does ahead was looked into, and not understood
  std::uint64_t spare = 0;

  static constexpr std::uint8_t power_clock = 1;  ///< time since the power came on
  static constexpr std::uint8_t run_clock = 2;    ///< time since the run began
};
static_assert(sizeof(TurnState) == 96);

/// What a turn did beside asking for things.
struct TurnWatch {
  bool clock = false;               ///< it read a clock, or something that changes with the time
  bool wrote = false;               ///< it wrote to memory
  bool fades = false;               ///< it asked for a level on its way
  bool set_level = false;           ///< it asked for a level that is not there
  sim::Instant wakes = sim::never;  ///< when `passed` next gives another answer
};

/// The first turn that comes neither before `now` nor before the one after `latest`.
sim::Instant next_turn(const TurnState& turns, sim::Duration period, sim::Instant now);

/// Counts the turns that come before `now` and were left out.
void settle(TurnState& turns, std::span<std::byte> state, sim::Duration period, sim::Instant now);

/// Forgets what was foreseen: something has reached the device.
void expect_anything(TurnState& turns);

/// What a quiet turn counted; nothing when it changed more than that. What began again in it is known from what it did in the
/// turns before (`until_now`): that it goes on like this is a guess, which whoever goes through turns ahead holds against them.
std::optional<TurnCounters> counters_of(std::span<const std::byte> before, std::span<const std::byte> after,
                                        const TurnCounters& until_now);

/// Adds what `turns` quiet turns count.
void count(const TurnCounters& counters, std::uint64_t turns, std::span<std::byte> state);

/// After how many turns all that begin again are where they were; 1 when there are none, 0 when it is very many.
std::uint64_t common_round(const TurnCounters& counters);

/// So many turns are gone through ahead before it is worth the while to look into one, or into a round of some that begin again.
std::uint64_t worth_looking(std::uint64_t round);

/// How many turns are gone through ahead of their time.
std::uint64_t turns_ahead(const TurnState& turns);

}  // namespace drybus::model
