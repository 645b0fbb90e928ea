// Words for the enumerations of scripts.
#include <array>

#include "model/people/script.h"

namespace drybus::model {

std::string_view to_string(Fact fact) {
  constexpr std::array<std::string_view, 10> names = {"indicator", "load",     "mode", "address", "level",
                                                      "channel",   "power_up", "site", "zone",    "findings"};
  return names[static_cast<std::size_t>(fact)];
}

}  // namespace drybus::model
