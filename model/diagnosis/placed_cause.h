// Slips and faults in their places: at which step, of which device, and what is changed in the run by each.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/diagnosis/catalogue.h"
#include "model/diagnosis/report.h"
#include "model/people/change.h"

namespace drybus::model {

class Retelling;

/// One slip or fault in its place.
struct PlacedCause {
  Mishap cause = Mishap::forgot;
  DeviceId device = no_device;        ///< whom it is about; no_device for a link, or for everybody
  std::optional<std::uint32_t> link;  ///< for faults of a link
  std::optional<std::uint32_t> step;  ///< of the installer's script as told; nothing: from the beginning
  DeviceId other = no_device;         ///< the module that was taken for it, or was put in setup as well
  Buttons buttons = 0;                ///< wrong_button: what was pressed; stuck_button: what is stuck
  sim::Duration duration{};           ///< how long it really took
  std::uint16_t family = 0;           ///< other_generation: as ModuleSpec::family counts them
  bool was_interrupted = false;     ///< took_longer: between two presses, neither on a way nor while waiting
  std::optional<PlaceId> place;     ///< dead_device: all modules there, which a breaker serves
  PowerUp power_up = PowerUp::off;  ///< other_power_up: what it really is
  Address address;                  ///< other_address; switch_wrong and neighbour: its site and zone
};

/// "let M4 local go too early (0:12.0)", as part of a sentence whose subject need not be named.
std::string describe(const Scenario& believed, const PlacedCause& placed);

/// A placed cause with what it changes in the run.
struct PlacedChange {
  PlacedCause placed;
  double chance = 0;
  double covers = 1;  ///< of what it stands for, the share of moments at which it can be that are tried
  Changes changes;
  std::vector<DeviceId> touches;  ///< the modules that it can make behave otherwise
  bool traffic = false;  ///< it can change what is sent or who hears it: any module may behave otherwise
  /// For traffic of a setup that is over at a step: after that only modules that were in setup meanwhile
  /// (`touches`) may behave otherwise.
  std::optional<std::uint32_t> until;
};

/// All that the catalogue knows of, at every place where it can be in this report.
std::vector<PlacedChange> place_causes(const Retelling& retelling, const Catalogue& catalogue);

/// And what takes several things at once: the supply of a room.
std::vector<PlacedChange> place_causes_of_rooms(const Retelling& retelling, const Catalogue& catalogue);

/// And what callers tell of, which no plan of work has to reckon with: steps the other way round, somebody else's hands, what
/// was left in setup before, loads that give no light.
std::vector<PlacedChange> place_causes_of_calls(const Retelling& retelling, const Catalogue& catalogue);

}  // namespace drybus::model
