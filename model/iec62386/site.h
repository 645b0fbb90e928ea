// What is built and never changes in a run: lines with their supplies, control gear, controllers and couplers, places.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/iec62386/gear.h"

namespace drybus::iec62386 {

using Index = std::uint16_t;
inline constexpr Index no_index = 0xFFFF;

/// A frame to be sent, and how.
struct Send {
  BitFrame frame;
  std::uint8_t times = 1;
  bool wants_answer = false;
  std::optional<std::uint8_t> should_be;  ///< the answer, where it is read back
  sim::Duration then_wait{};
  friend bool operator==(const Send&, const Send&) = default;
};

struct Place {
  std::string name;
  std::vector<sim::Duration> walk;  ///< to each place
};

struct LineSpec {
  std::string name;
  std::uint32_t supply_ma = 250;
  double core_mm2 = 1.5;
};

struct GearSpec {
  std::string name;
  std::string label;
  Index place = 0;
  Index line = 0;
  double at_m = 0;  ///< along the cable from the supply
  std::optional<ShortAddress> intended;
  GearKind kind;
  GearMemory memory;         ///< when it is hung
  bool former_life = false;  ///< what it holds was given to it elsewhere
  bool poor_random = false;  ///< one of 16 numbers only
  std::uint32_t current_ua = 2'000;
};

struct ButtonSpec {
  std::string name;
  std::vector<Send> sends;
};

/// Whoever sends: an application controller, a tool in somebody's hand, a pushbutton coupler.
struct ControllerSpec {
  std::string name;
  std::string label;
  Index place = 0;
  Index line = 0;
  double at_m = 0;
  bool supplies_line = false;  ///< the line's supply sits in it
  bool has_bridge = true;      ///< does not mind which way round its pair is
  bool keeps_line = true;      ///< further frames of one transaction at priority 1
  bool sees_collisions = true;
  bool all_bytes = false;  ///< of the search address, each time
  Priority priority = 3;   ///< of a transaction's first frame
  std::uint32_t current_ua = 10'000;
  std::vector<ButtonSpec> buttons;
};

/// Devices are controllers first, then gear, then lines: so they are numbered in a record.
struct Site {
  std::vector<Place> places;
  std::vector<LineSpec> lines;
  std::vector<ControllerSpec> controllers;
  std::vector<GearSpec> gear;

  [[nodiscard]] std::uint32_t device_of_gear(std::size_t gear_index) const {
    return static_cast<std::uint32_t>(controllers.size() + gear_index);
  }
  [[nodiscard]] std::uint32_t device_of_line(std::size_t line) const {
    return static_cast<std::uint32_t>(controllers.size() + gear.size() + line);
  }
  [[nodiscard]] const std::string& name(std::uint32_t device) const;
};

/// The most that may fall between two devices on the line, 2 V (seen in a maker's note).
inline constexpr double most_drop_v = 2.0;

/// The voltage that the pair takes, out and back, over so many metres: conductivity 56 m / (ohm mm2), as in the printed
/// worked example (300 m, 1.5 mm2, 250 mA: 1.786 V).
double drop_v(double metres, double core_mm2, double milliamperes);

/// Whether somebody at `from` who pulls the line low is low enough for somebody at `to`: what the supply drives flows
/// through the cable to the sender, so those nearer to the supply see what falls in between.
bool low_enough(const LineSpec& line, double from_m, double to_m, double supply_ma);

}  // namespace drybus::iec62386
