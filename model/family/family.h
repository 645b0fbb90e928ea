// A device family's parameters: buttons, gestures, time-outs, patterns, bus. Nothing about a family is in the code.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/family/circuit.h"
#include "model/family/machine.h"
#include "model/family/telegram.h"
#include "sim/enumeration.h"
#include "sim/network.h"
#include "sim/time.h"

namespace drybus::model {

/// Names one button of a plate, by its place in PlateFamily::buttons.
using Button = std::uint8_t;
inline constexpr Button no_button = 0xff;
inline constexpr std::size_t max_buttons = 16;
/// A set of buttons, one bit each.
using Buttons = std::uint16_t;
/// None for a button that there is not.
constexpr Buttons only(Button button) {
  return button < max_buttons ? static_cast<Buttons>(1u << button) : Buttons{0};
}

inline constexpr std::size_t max_scenes = 8;

/// What a button does in normal mode.
enum class Command : std::uint8_t { nothing, on, off, recall, store, raise, lower };

/// For whom a plate's button speaks.
BOOST_DEFINE_FIXED_ENUM_CLASS(Whom, std::uint8_t, zone,  ///< the plate's own
                              next_zone,  ///< the zone after that: a plate with the keys of two
                              group,      ///< of zones, which the plate's own is one of
                              whole_site)

struct Binding {
  Command command = Command::nothing;
  std::uint8_t scene = 0;  ///< 1 to max_scenes, for recall and store
  Whom whom = Whom::zone;
  /// Whether it gives this command to the plate's own zone, and to no other.
  [[nodiscard]] constexpr bool gives(Command wanted) const { return command == wanted && whom == Whom::zone; }
  /// A master key's: for more than one zone.
  [[nodiscard]] constexpr bool is_master() const { return whom == Whom::group || whom == Whom::whole_site; }
};

/// How a family file adds for whom: "", "next zone", "group", "whole site".
std::string_view to_string(Whom whom);
/// "nothing", "off", "recall 2 whole site": as a family file has it.
std::string to_string(const Binding& binding);
/// The same to people, in the words that this thread speaks.
std::string spoken(const Binding& binding);

enum class CountedFrom : std::uint8_t { entry, last_press };

struct TimeOut {
  sim::Duration after{};
  CountedFrom from = CountedFrom::entry;
};

/// How site and zone are set on a plate.
struct SwitchBank {
  enum class Kind : std::uint8_t { binary, rotary };
  Kind kind = Kind::binary;
  std::uint8_t count =
      0;  ///< binary switches (switch 1 least significant), or decimal dials (dial 1 the units)
  /// The largest number that the bank can show, at most 255.
  [[nodiscard]] std::uint8_t largest() const {
    unsigned all = 1;
    for (unsigned i = 0; i < count; ++i) all *= kind == Kind::binary ? 2u : 10u;
    return static_cast<std::uint8_t>(all > 256 ? 255 : all - 1);
  }
};

BOOST_DEFINE_FIXED_ENUM_CLASS(PowerUp, std::uint8_t, off, full, last)

/// How long indicators show what they show, alike on plates and modules.
struct IndicatorTimes {
  sim::Duration identify{};  ///< steady
  sim::Duration refuse{};
  sim::Duration breathe{};  ///< after each beacon
  sim::Duration blip{};
  sim::Duration blips_sleep{};  ///< after the last local press or power-up
};

struct PlateFamily {
  std::vector<std::string> buttons;  ///< at most max_buttons
  SwitchBank site_switches;
  SwitchBank zone_switches;
  Buttons setup_gesture = 0;
  sim::Duration setup_hold{};
  Button next = no_button;  ///< in setup, as the four below
  Button previous = no_button;
  Button identify = no_button;
  Button assign = no_button;
  Button leave = no_button;
  std::array<Binding, max_buttons> press{};  ///< in normal mode
  std::array<Binding, max_buttons> hold{};   ///< in normal mode, after `long_press`
  sim::Duration long_press{};
  TimeOut time_out;
  sim::Duration beacon{};
  std::uint8_t channels = 0;
  Machine machine;

  /// The name of a button; "?" for one that there is not.
  [[nodiscard]] std::string name_of(Button button) const {
    return button < buttons.size() ? buttons[button] : std::string{"?"};
  }
};

/// How often the supply has to come on, each time for less than `on_for`, to enter setup.
struct SupplyGesture {
  std::uint8_t times = 0;  ///< 0: not that way
  sim::Duration on_for{};
};

/// What a write to memory leaves that a power cut meets.
enum class TornWrite : std::uint8_t {
  factory,  ///< a record whose check fails: the module starts as from the factory
  before    ///< what was there before the write
};

/// What a module's memory keeps over a power cut; what it does not is as from the factory then.
struct Memory {
  bool address = true;
  bool scenes = true;
  bool power_up = true;
  bool last_level = true;
  TornWrite torn_write = TornWrite::factory;
};

struct ModuleFamily {
  std::string button;  ///< empty: it has none
  sim::Duration setup_hold{};
  TimeOut time_out;
  SupplyGesture supply_gesture;
  sim::Duration ask{};      ///< between two questions for an address; 0: it does not ask
  sim::Duration confirm{};  ///< in which an offered address can be confirmed; 0: that need not be
  sim::Duration store{};    ///< how long a write to memory takes
  sim::Duration flash{};
  sim::Duration fade{};        ///< on, off and scenes
  sim::Duration full_range{};  ///< raise and lower, from one end to the other
  std::uint8_t scenes = 4;
  std::uint8_t group = 0;  ///< zones in a group: 1 to group are the first, and so on; 0: it knows no groups
  bool factory_scenes =
      true;  ///< it comes with a level for each scene; else a scene has none until one is stored
  std::uint8_t factory_site = 1;
  PowerUp factory_power_up = PowerUp::full;
  Memory memory;
  std::vector<LoadRating> ratings;  ///< one for each method it has; none: nothing is known
  Machine machine;
};

struct Family {
  std::string name;
  std::string about;
  PlateFamily plate;
  ModuleFamily module;
  IndicatorTimes indicator;
  sim::Duration debounce{};
  sim::Duration stuck_after{};  ///< a button held for longer is taken for stuck
  /// How far the clock of a device may go too fast or too slow, in parts of 10^9, 0 to 1,000,000; see sim/clock.h for what
  /// that touches.
  std::uint32_t clock_tolerance_ppb = 0;
  sim::MediumKind medium = sim::MediumKind::line;
  sim::MediumTiming bus;
  /// Radio: the loss that a link can bear, dB, and the carrier, MHz (ITU-R P.1238 decides who is within range).
  double link_budget_db = 0;
  double carrier_mhz = 0;
  std::optional<SupplyRating> supply;  ///< wired families whose bus feeds the devices
};

enum class DeviceKind : std::uint8_t { plate, module };

inline const Machine& machine_of(const Family& family, DeviceKind kind) {
  return kind == DeviceKind::plate ? family.plate.machine : family.module.machine;
}
inline Machine& machine_of(Family& family, DeviceKind kind) {
  return kind == DeviceKind::plate ? family.plate.machine : family.module.machine;
}
constexpr std::string_view to_string(DeviceKind kind) {
  return kind == DeviceKind::plate ? "plate" : "module";
}

}  // namespace drybus::model
