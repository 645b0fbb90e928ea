// A site number of one's own: which are taken, and which of the others to take.
#pragma once

#include <cstdint>
#include <optional>
#include <set>

#include "model/site/site.h"

namespace drybus::model {

/// Those of the neighbours that the site knows.
std::set<std::uint8_t> neighbours_numbers(const Site& site);

/// Of those that are free (1 up), the one whose name together with the plate's comes first when shuffled: not
/// everybody who plans gets the same, and circuits or plates that are added do not change it.
std::optional<std::uint8_t> proposed_number(const Site& site, DeviceId plate,
                                            const std::set<std::uint8_t>& taken);

}  // namespace drybus::model
