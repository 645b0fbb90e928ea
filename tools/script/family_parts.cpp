#include "tools/script/family_parts.h"

#include <charconv>
#include <cmath>

#include "sim/clock.h"
#include "tools/script/keys.h"

namespace drybus::tools {

model::SupplyRating read_supply(const Node& node, Complaints& complaints) {
  const Fields fields{complaints, node, "supply", keys::supply};
  model::SupplyRating supply;
  const auto amperes = [&](std::string_view key, double least, double& into) {
    double milliamperes = 0;
    read_with_unit_into(complaints, fields.need(key), "mA", least, 100'000, milliamperes);
    into = milliamperes / 1000;
  };
  read_with_unit_into(complaints, fields.need("voltage"), "V", 0.1, 1000, supply.volts);
  read_with_unit_into(complaints, fields.need("least"), "V", 0, supply.volts, supply.least_volts);
  amperes("most", 0.001, supply.most_amperes);
  amperes("plate", 0, supply.plate_amperes);
  amperes("module", 0, supply.module_amperes);
  return supply;
}

std::uint32_t read_clock(const Node& node, Complaints& complaints) {
  constexpr double ppb_per_ppm = 1000;
  const Fields fields{complaints, node, "clock", keys::clock};
  double ppm = sim::quartz_tolerance_ppb / ppb_per_ppm;
  read_with_unit_into(complaints, fields.need("tolerance"), "ppm", 0,
                      sim::most_clock_tolerance_ppb / ppb_per_ppm, ppm);
  return static_cast<std::uint32_t>(std::lround(ppm * ppb_per_ppm));
}

model::Whom take_whom(std::string& text) {
  for (const model::Whom whom : {model::Whom::next_zone, model::Whom::group, model::Whom::whole_site}) {
    const std::string ending = std::string{" "}.append(to_string(whom));
    if (!text.ends_with(ending)) continue;
    text.resize(text.size() - ending.size());
    return whom;
  }
  return model::Whom::zone;
}

bool read_scene(std::string_view text, std::uint8_t scenes, std::uint8_t& scene) {
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), scene);
  return error == std::errc{} && end == text.data() + text.size() && scene >= 1 && scene <= scenes;
}

}  // namespace drybus::tools
