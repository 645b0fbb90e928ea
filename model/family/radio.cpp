#include "model/family/radio.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

namespace drybus::model {

double distance_m(const Spot& a, const Spot& b) {
  const double x = a.x_m - b.x_m;
  const double y = a.y_m - b.y_m;
  const double z = floor_height_m * (a.floor - b.floor);
  return std::sqrt(x * x + y * y +
                   z * z);  // unlike std::hypot, the same to the last bit wherever it is computed
}

double indoor_loss_db(double carrier_mhz, double distance_m, int floors) {
  constexpr double office = 33;
  constexpr std::array<double, 4> floor_loss_db = {0, 9, 19, 24};
  const auto through = static_cast<std::size_t>(std::clamp(floors, 0, 3));
  return 20 * std::log10(carrier_mhz) + office * std::log10(std::max(distance_m, nearest_m)) +
         floor_loss_db[through] - 28;
}

bool within_reach(double carrier_mhz, double link_budget_db, const Spot& a, const Spot& b) {
  return indoor_loss_db(carrier_mhz, distance_m(a, b), std::abs(a.floor - b.floor)) <= link_budget_db;
}

}  // namespace drybus::model
