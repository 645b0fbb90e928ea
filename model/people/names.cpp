// Words for the enumerations of scripts.
#include "model/people/script.h"

namespace drybus::model {

std::string_view to_string(Fact fact) {
  constexpr sim::ByEnum<Fact, std::string_view> names = {
      "indicator", "load", "mode", "address", "level", "channel", "power_up", "site", "zone", "findings"};
  return names[fact];
}

}  // namespace drybus::model
