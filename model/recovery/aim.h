// What a cure has to bring about, as far as it can be read off the worlds.
#pragma once

#include <span>
#include <vector>

#include "model/recovery/recover.h"

namespace drybus::model {

/// Where everything shall be in the end: the intended addresses; where none is given, the one that the module
/// had.
Aim aim_of(const Scenario& asked, std::span<const Possibility> possible);

/// How things may stand with one device when the cure begins.
struct Outlook {
  bool in_setup = false;        ///< in some world
  bool in_normal_mode = false;  ///< in some world
  sim::Duration soonest{};      ///< until setup ends by itself, in the world where that comes first
  sim::Duration latest{};       ///< and in the one where it comes last
  std::uint8_t channel = 0;     ///< of a plate in setup
  bool same_channel = true;     ///< in all worlds
  // plates
  bool wrong_switches = false;  ///< in some world
  bool same_switches = true;    ///< in all worlds
  PlateSetting switches;        ///< then these
  // modules
  bool to_address = false;        ///< in some world it does not hold what it shall
  std::vector<std::uint8_t> lit;  ///< site numbers of the worlds in which it comes up at full, ascending
  std::uint16_t deaf_for = 0;     ///< telegrams that it misses, at most
};

/// By device.
std::vector<Outlook> outlooks(const Scenario& asked, const Aim& aim, std::span<const Possibility> possible);

/// The same for somebody who takes nothing for granted: any plate may be set wrong, any module hold something
/// else.
std::vector<Outlook> doubtful(const Scenario& asked, const Aim& aim, std::vector<Outlook> outlooks);

/// Repairs that some world needs: links made good, buttons freed, power restored.
std::vector<Step> repairs(const Scenario& asked, std::span<const Possibility> possible);

/// The steps that make good whatever can be broken: every link of a line, every way from a plate to a module
/// on radio, every button of ours.
std::vector<Step> repairs_of_everything(const Site& site);

}  // namespace drybus::model
