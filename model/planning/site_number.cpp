#include "model/planning/site_number.h"

#include <fmt/format.h>

#include <utility>

#include "sim/digest.h"

namespace drybus::model {

std::set<std::uint8_t> neighbours_numbers(const Site& site) {
  std::set<std::uint8_t> taken;
  for (const PlateSpec& plate : site.plates) {
    if (plate.neighbour) taken.insert(plate.site);
  }
  for (const ModuleSpec& module : site.modules) {
    if (module.neighbour && module.memory.addressed()) taken.insert(module.memory.address.site);
  }
  return taken;
}

std::optional<std::uint8_t> proposed_number(const Site& site, DeviceId plate,
                                            const std::set<std::uint8_t>& taken) {
  const PlateSpec& spec = site.plates[plate];
  const unsigned numbers = site.family.plate.site_switches.largest() + 1u;
  std::optional<std::pair<std::uint32_t, std::uint8_t>> best;
  for (unsigned number = 1; number < numbers; ++number) {
    const auto candidate = static_cast<std::uint8_t>(number);
    if (taken.contains(candidate)) continue;
    const std::string key =
        fmt::format("{}/{}/{}/{}", spec.name, spec.label, site.places[spec.place].name, number);
    const std::pair ranked{sim::stable_name(key), candidate};
    if (!best || ranked < *best) best = ranked;
  }
  if (!best) return std::nullopt;
  return best->second;
}

}  // namespace drybus::model
