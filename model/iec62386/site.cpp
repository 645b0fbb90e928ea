#include "model/iec62386/site.h"

namespace drybus::iec62386 {

const std::string& Site::name(std::uint32_t device) const {
  if (device < controllers.size()) return controllers[device].name;
  device -= static_cast<std::uint32_t>(controllers.size());
  if (device < gear.size()) return gear[device].name;
  return lines[device - gear.size()].name;
}

double drop_v(double metres, double core_mm2, double milliamperes) {
  return 2 * metres / (56 * core_mm2) * milliamperes / 1000;
}

bool low_enough(const LineSpec& line, double from_m, double to_m, double supply_ma) {
  return from_m <= to_m || drop_v(from_m - to_m, line.core_mm2, supply_ma) <= most_drop_v;
}

}  // namespace drybus::iec62386
