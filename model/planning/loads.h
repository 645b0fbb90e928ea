// Whether each module can carry its load, and whether the bus supply reaches every device with enough
// voltage. An estimate for planning; local codes and a licensed person decide.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/planning/plan.h"
#include "model/site/site.h"

namespace drybus::model {

/// Ohms per km of one copper conductor at 20 °C, the largest that IEC 60228 allows (classes 1 and 2 plain,
/// class 5 plain). Nothing for a size or class that is not in drybus's table.
std::optional<double> conductor_ohms_per_km(double core_mm2, std::uint8_t conductor_class);

/// Copper grows by this share of its resistance at 20 °C with each kelvin (IEC 60228's correction, about).
inline constexpr double copper_per_kelvin = 0.00393;

/// The word that files have for it, as people are told it.
std::string_view spoken(Dimming method);

struct LoadRow {
  DeviceId module = no_device;
  CircuitLoad load;
  std::optional<LoadRating> rating;  ///< nothing: the family has none for this method
};

/// Where the supply of one bus ends up.
struct SupplyReport {
  std::size_t medium = 0;
  double amperes = 0;             ///< that the supply gives
  double cable_m = 0;             ///< of all links
  DeviceId furthest = no_device;  ///< the device with the least voltage
  double least_volts = 0;         ///< there
  std::vector<double> volts;      ///< at each node of the medium, in its order; NaN: not joined to the supply
};

struct LoadReport {
  std::vector<LoadRow> rows;           ///< modules with a load, in the order of the site
  std::vector<DeviceId> unsaid;        ///< our own modules of which the site says no load
  std::vector<SupplyReport> supplies;  ///< buses with a cable
  std::vector<PlanClash> clashes;
};

/// Checks what the site says of loads and cables against its family. Every device draws its current whatever
/// the voltage, so the drop over a link is 2 R I with the current of all that lies beyond it; devices beyond
/// an open end get none.
LoadReport check_loads(const Site& site);

}  // namespace drybus::model
