// Indoor radio: how much of a signal is lost between two spots, and so who is within whose reach.
#pragma once

namespace drybus::model {

/// Where something is in a building. Metres from any corner of the plan; floors counted from any one.
struct Spot {
  double x_m = 0;
  double y_m = 0;
  int floor = 0;
  friend bool operator==(const Spot&, const Spot&) = default;
};

/// From one floor to the next, for distances (common practice, no source).
inline constexpr double floor_height_m = 3.0;

/// ITU-R P.1238 holds from one metre on; what is nearer counts as one metre away.
inline constexpr double nearest_m = 1.0;

/// The straight distance, through floors, in metres.
double distance_m(const Spot& a, const Spot& b);

/// Median loss in dB by ITU-R P.1238, older form, in an office (N = 33):
/// L = 20 log10 f + 33 log10 d + Lf(n) - 28, with Lf = 9, 19, 24 dB for 1, 2, 3 floors; more floors count
/// as 3. `carrier_mhz` > 0.
double indoor_loss_db(double carrier_mhz, double distance_m, int floors);

/// Whether a link that bears `link_budget_db` of loss gets from one spot to the other.
bool within_reach(double carrier_mhz, double link_budget_db, const Spot& a, const Spot& b);

}  // namespace drybus::model
