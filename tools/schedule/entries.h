// What people write in the cells of a schedule: powers, ways of dimming, yes and no.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "model/family/family.h"

namespace drybus::tools {

struct LoadEntry {
  std::optional<double> watts;  ///< 0 to 10^6
  /// How it was read where it could mean something else: "1,200 is taken as 1200".
  std::string doubt;
};

/// "60", "60 W", "0,06 kW", "6 x 7.5 W", "2x58W + 36". A comma or a point is a decimal mark, unless three digits follow
/// it: then it parts thousands, and that is a doubt. `kilowatts`: what has no unit is in kW.
LoadEntry parse_load(std::string_view text, bool kilowatts = false);

/// "leading edge", "TE", "on/off", "relay".
std::optional<model::Dimming> parse_dimming(std::string_view text);

/// What the family can do with a load of so many watts: the first method with a rating for it, else trailing edge.
model::Dimming usual_dimming(const model::Family* family, double watts);

/// "yes", "x", "no", "-", ...
std::optional<bool> parse_yes(std::string_view text);

/// A whole number of 0 to 255.
std::optional<std::uint8_t> parse_number(std::string_view text);

}  // namespace drybus::tools
