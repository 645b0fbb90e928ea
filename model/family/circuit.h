// What hangs on a module and what feeds the bus: loads with their ratings, and the supply pair.
#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "sim/enumeration.h"
#include "sim/network.h"

namespace drybus::model {

/// How a module regulates its load (common practice, no source): by cutting the start of each half-wave, its
/// end, or not at all.
BOOST_DEFINE_FIXED_ENUM_CLASS(Dimming, std::uint8_t, leading_edge, trailing_edge, switched)
std::string_view to_string(Dimming method);

/// What a module can carry by one method. Below `least_w` an electronic switch may not hold, and the lamp
/// flickers.
struct LoadRating {
  Dimming method = Dimming::leading_edge;
  double least_w = 0;
  double most_w = 0;
};

/// The lamps on one module.
struct CircuitLoad {
  Dimming method = Dimming::leading_edge;
  double watts = 0;
};

/// What a wired family's bus supply gives, and what its devices draw, always and whatever the voltage.
struct SupplyRating {
  double volts = 0;           ///< at the supply's terminals
  double least_volts = 0;     ///< at which every device still works
  double most_amperes = 0;    ///< that the supply can give
  double plate_amperes = 0;   ///< one plate
  double module_amperes = 0;  ///< one module
};

/// The supply pair of one bus: both conductors alike, fed at one node.
struct SupplyCable {
  double core_mm2 = 0;               ///< cross-section of one conductor, of those in IEC 60228
  std::uint8_t conductor_class = 5;  ///< IEC 60228: 1 solid, 2 stranded, 5 flexible
  std::vector<double> lengths_m;     ///< of each link of the medium, in its order
  sim::NodeId fed_at = 0;            ///< a node of the medium
};

}  // namespace drybus::model
