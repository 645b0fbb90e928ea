#include "model/family/circuit.h"

#include <array>

namespace drybus::model {

std::string_view to_string(Dimming method) {
  switch (method) {
    case Dimming::leading_edge:
      return "leading-edge";
    case Dimming::trailing_edge:
      return "trailing-edge";
    case Dimming::switched:
      return "switched";
  }
  return {};
}

}  // namespace drybus::model
