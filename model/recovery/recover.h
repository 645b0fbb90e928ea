// From out of step to all in step again: what an installer does, in the least time, so that every module
// holds the address intended for it, nobody is left in setup and nothing comes up lit after a power cut.
//
// How things stand need not be known: a cure is found for a set of worlds at once and is one sequence of
// steps that works in each of them. It is made on a simple model of what is known (model/recover_search.h)
// and then run in every one of the worlds; only what passed there is told.
#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/people/script.h"
#include "model/world/world.h"

namespace drybus::model {

/// One way in which things may stand when the cure begins.
struct Possibility {
  const Scenario* scenario = nullptr;  ///< the world's own; its site has the same devices as everybody's
  World world;
  double probability = 1;
};

struct RecoverOptions {
  unsigned reserve_percent = 25;  ///< of each time-out that shall be left unused, 0 to 90
  /// The worlds are of this very moment, so that a setup in progress can be made use of. Otherwise time has
  /// passed since: who may be in setup may have left it, and what is to be handled is brought to normal mode
  /// first.
  bool of_this_moment = true;
  /// Nothing is taken for granted: the bus and every button are made good, every plate is set and every
  /// module addressed again, whatever the worlds say.
  bool afresh = false;
  /// Somebody saw these blink, whatever the worlds say: they may be in setup.
  std::vector<DeviceId> seen_in_setup{};
  std::size_t effort =
      60'000;  ///< how many situations the search may keep before a good plan takes the place of the best
};

struct PlateSetting {
  std::uint8_t site = 0;
  std::uint8_t zone = 0;
  friend auto operator<=>(const PlateSetting&, const PlateSetting&) = default;
};

/// How it shall be in the end.
struct Aim {
  std::vector<std::optional<Address>> addresses;  ///< by module; nothing: it may stay as it is
  std::vector<PlateSetting> plates;               ///< by plate; a neighbour's as it is
  std::vector<std::string> changes;               ///< why something is not as it was intended
  std::vector<std::string> obstacles;             ///< what no cure can get over
};

/// One line of the cure as it is told by telephone: one step, or several alike.
struct CureLine {
  std::size_t first_step = 0;
  std::size_t steps = 0;
  std::string text;     ///< "Hold the local button of Attic spots (M2) until its lamp blinks: about 3.5 s."
  std::string shows;    ///< "the lamp of M2 blinks"; empty: nothing that is the same whatever is true
  std::string caution;  ///< where somebody opens something
};

struct Cure {
  enum class End : std::uint8_t {
    nothing_to_do,
    found,    ///< and run in every world: it works
    no_cure,  ///< `reasons` say why
  };
  End end = End::no_cure;
  Aim aim;
  std::vector<Step> steps;
  std::vector<CureLine> lines;
  std::vector<CureLine> written_lines;  ///< the same as a scenario has it: in the words that the sources have
  /// Walking and waiting and all, and the work with covers off (model/planning/cover_work.h); a repair itself
  /// counts nothing.
  sim::Duration time{};
  std::size_t repairs = 0;    ///< steps for an electrician, which come first
  std::size_t addressed = 0;  ///< steps after which every address holds; scenes come after them
  bool opens = false;         ///< something is done with covers off and the supply isolated
  bool shortest = false;      ///< no other sequence of such steps is done sooner
  std::vector<std::string> reasons;
};

/// REQUIRES: at least one possibility. `asked`: what is believed of the site and what is intended there.
Cure recover(const Scenario& asked, std::span<const Possibility> possible,
             const RecoverOptions& options = {});

/// Whether a world is as it shall be: every address held and written, every plate set, nobody of ours in
/// setup, nothing that comes up at full, no link broken, no button stuck, all of ours powered, no breach
/// open.
bool is_as_aimed(const Scenario& scenario, const Aim& aim, const World& world);

/// What is still wrong with a world, in words; empty when it is as aimed.
std::vector<std::string> amiss(const Scenario& scenario, const Aim& aim, const World& world);

/// The world after the steps, done by its installer from where they stand.
World world_after(const Scenario& scenario, const World& world, std::span<const Step> steps);

/// A scenario whose intended addresses are the aim's.
Scenario with_aim(const Scenario& scenario, const Aim& aim);

}  // namespace drybus::model
