// What is done and looked at on a round through a site, as data; as a script; and carried out in a world.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "model/people/script.h"
#include "model/world/world.h"

namespace drybus::model {

/// One thing to be done, and what is to be seen then.
struct RoundAct {
  enum class Kind : std::uint8_t {
    power_cut,  ///< the supply of everything goes off and on
    look,       ///< at what shows without anything being pressed
    enter,      ///< the plate is put in setup
    channel,    ///< one channel further: its load flashes
    leave,      ///< the plate leaves setup
    key,        ///< one of the plate's keys, pressed briefly
    restore     ///< the same, so that all is dark again: nothing is looked at
  };
  Kind kind = Kind::look;
  DeviceId plate = no_device;
  Button button = no_button;
  std::uint8_t channel = 0;
  PlaceId from = 0;                   ///< where it is looked at
  bool helper = false;                ///< by somebody else, who stands there and calls
  std::vector<DeviceId> looked_at;    ///< loads of modules, or the plate's lamp
  PlaceId helper_at = no_place;       ///< where somebody else looks on, and calls
  std::vector<DeviceId> helper_sees;  ///< there
};

/// What should be seen, and where in the script it is checked.
struct RoundLook {
  std::uint32_t act = 0;
  std::uint32_t check = 0;  ///< index into the scenario's checks
};

/// Acts as a script; the looks are checks whose wanted values are still open.
struct Trial {
  Scenario scenario;
  std::vector<RoundLook> looks;             ///< in the order of the checks
  std::vector<std::uint32_t> steps_before;  ///< by act: of the installer's script; and one past the last
};

/// What is pressed for an act of a channel: the next one, or the one where the plate stands once more.
Button channel_button(const Site& site, const RoundAct& act);

/// How long it takes to look at so many loads: judgement, no source.
sim::Duration looking_takes(std::size_t loads);

/// `alone`: who looks from elsewhere is in the same script, for trying out; otherwise the one who helps is a person of
/// their own, with everybody at the hour that the script comes to, and whoever looks walks there.
Trial make_trial(const Site& site, const std::vector<RoundAct>& acts, PlaceId start, bool alone);

/// What was seen at each look, in the order of the looks: a load's level in tenths of a percent, or a lamp's pattern.
struct Sighting {
  std::vector<std::uint16_t> values;
  sim::Duration took{};
  bool touched = false;  ///< a load that is not to be switched was about to change
};

/// Goes through the script in a world in which everybody is done with what they did before. Nothing when somebody is
/// not, or it never ends.
std::optional<Sighting> try_out(const Trial& trial, World world);

/// The same from the very start of the scenario, with everybody at the hour that their script says.
std::optional<Sighting> try_from_start(const Trial& trial);

/// Whether a person tells the two apart: lit from dark, a lamp's patterns, and levels more than 15 % apart.
bool tells_apart(const Trial& trial, const Sighting& a, const Sighting& b);

/// Puts what was seen into the checks, as what is wanted.
void expect_as_seen(Trial& trial, const Sighting& right);

}  // namespace drybus::model
