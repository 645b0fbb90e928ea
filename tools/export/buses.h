// The media of a site that exports show, and what they are called there.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "model/site/site.h"

namespace drybus::tools {

struct Bus {
  std::uint32_t medium = 0;  ///< index into sim::Network::media
  std::string name;          ///< "bus" when it is the only one, else "bus1", "bus2", ...
};

/// All media but those of a lone module, which neither sends nor is sent anything.
std::vector<Bus> buses_of(const model::Site& site);

}  // namespace drybus::tools
