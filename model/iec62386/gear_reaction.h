// One reaction of a gear, with all that it works on: what gear.cpp and gear_commands.cpp share, and nobody else.
#pragma once

#include <algorithm>

#include "model/iec62386/gear.h"

namespace drybus::iec62386 {

constexpr std::uint8_t bit(Timer timer) {
  return static_cast<std::uint8_t>(1U << static_cast<unsigned>(timer));
}

struct Reaction {
  const GearKind& kind;
  GearState& state;
  sim::Instant now;
  Effects effects{};

  [[nodiscard]] GearMemory& memory() const { return state.memory; }
  [[nodiscard]] Level level() const { return state.motion.at(now); }
  [[nodiscard]] Level least() const { return std::max(memory().min_level, kind.physical_minimum); }
  [[nodiscard]] Level most() const { return std::max(least(), memory().max_level); }
  /// The fade time that is set.
  [[nodiscard]] sim::Duration fade() const;
  /// Whether COMPARE and its like are meant for it: initialised, and its random address is the one searched for.
  [[nodiscard]] bool selected() const { return state.initialised && memory().random == state.search; }

  // --- levels ---
  /// Moves to a level within the limits, and says when these had a say.
  void go_to(Level wanted, sim::Duration lasts);
  void move_to(Level to, sim::Duration lasts);
  void arc_level(Level wanted);
  /// By so many steps, which take this long; never on or off.
  void change_by(int steps, sim::Duration lasts);
  void up_or_down(int way);
  void scene(std::uint8_t number);

  // --- settings ---
  void changed(Did what);
  /// A setting took this value, from DTR0.
  void take(std::uint8_t& setting, std::uint8_t value);
  void set_scene(std::uint8_t number, Level value);
  void set_group(std::uint8_t number, bool in);
  void set_short(std::uint8_t coded, Did what);
  void reset();

  // --- addressing ---
  void initialise(std::uint8_t which);
  void end_initialised();

  // --- answers ---
  void answer(std::uint8_t value) { effects.answer = value; }
  void answer_if(bool so) {
    if (so) answer(yes);
  }
  [[nodiscard]] std::uint8_t status() const;

  void start(Timer timer) { effects.set |= bit(timer); }
  void stop(Timer timer) { effects.stop |= bit(timer); }
};

/// Does what a command says. REQUIRES: it is done at all (Command::done), is meant for this gear and has come as often as
/// it has to.
void carry_out(Reaction& reaction, const Said& said);

/// Whether there is somebody who carries it out; for a test.
bool has_handler(Op op);

}  // namespace drybus::iec62386
