// In which order to visit the modules of a site, so that the work is done soonest and no setup mode times out
// on the way.
//
// A visit puts a module into setup, walks to a plate of its zone, steps to its channel and assigns. The plate
// may be in setup already (go_on), be put into setup after the module (module_first) or before it
// (plate_first). Never are two plates in setup, nor two modules.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "model/people/script.h"
#include "model/planning/plan.h"

namespace drybus::model {

struct RouteStop {
  DeviceId module = no_device;
  std::uint8_t channel = 0;
  std::vector<DeviceId> plates;  ///< that can assign it; at least one
};

/// A plate whose switches stand otherwise than the site has them when work begins.
struct PlateToSet {
  DeviceId plate = no_device;
  std::uint8_t site = 0;  ///< as found
  std::uint8_t zone = 0;
};

struct RouteProblem {
  Site site;
  HumanTimes times;
  std::vector<RouteStop> stops;
  std::optional<PlaceId> start;   ///< where the installer stands; nothing: wherever it suits
  unsigned reserve_percent = 25;  ///< of each time-out that shall be left unused, 0 to 90
  /// Set first, with the supply isolated, before anything is put in setup: that counts in no time of the route.
  std::vector<PlateToSet> to_set{};
};

enum class VisitOrder : std::uint8_t { go_on, module_first, plate_first };

struct Visit {
  std::size_t stop = 0;
  DeviceId plate = no_device;
  VisitOrder order = VisitOrder::module_first;
  friend bool operator==(const Visit&, const Visit&) = default;
};

struct Route {
  std::vector<Visit> visits;
  sim::Duration time{};
  sim::Duration bound{};  ///< no route is shorter than this; equal to `time` when it is the optimum
  bool optimal = false;
  std::vector<std::size_t> apart;  ///< stops that no one person can do: the walk is longer than a time-out
};

/// From this many stops on, the optimum is not sought.
inline constexpr std::size_t most_exact_stops = 12;

/// How long a gesture is held beyond what the device needs.
inline constexpr sim::Duration hold_margin = std::chrono::milliseconds{200};

/// The durations of which every visit is made, and the limits on them.
class RouteTimes {
 public:
  explicit RouteTimes(const RouteProblem& problem);

  /// What has been spent when a visit's assign is done, and for how long its plate has been in setup by then.
  struct Label {
    sim::Duration time{};
    sim::Duration age{};
    friend bool operator==(const Label&, const Label&) = default;
  };

  /// The first visit of all, or of a part that begins at `from` (nothing: there where it begins) with no
  /// plate in setup.
  [[nodiscard]] std::optional<Label> first(const Visit& visit, std::optional<PlaceId> from) const;
  /// A visit after another; nothing when a setup mode would not last.
  [[nodiscard]] std::optional<Label> next(const Label& label, const Visit& before, const Visit& visit) const;
  /// Leaves setup after the last visit.
  [[nodiscard]] sim::Duration finished(const Label& label) const { return label.time + tap_; }

  [[nodiscard]] sim::Duration tap() const { return tap_; }
  [[nodiscard]] sim::Duration plate_gesture() const { return plate_gesture_; }
  [[nodiscard]] sim::Duration module_gesture() const { return module_gesture_; }

 private:
  [[nodiscard]] std::optional<Label> enter_and_assign(sim::Duration so_far, sim::Duration walk,
                                                      const Visit& visit) const;
  [[nodiscard]] sim::Duration step_time(std::uint8_t from, std::uint8_t to) const {
    return tap_ * (from < to ? to - from : from - to);
  }
  [[nodiscard]] bool plate_lasts(sim::Duration age) const;

  const RouteProblem& problem_;
  sim::Duration tap_;             ///< a press and the pause after it
  sim::Duration plate_gesture_;   ///< and the pause
  sim::Duration module_gesture_;  ///< and the pause
  sim::Duration plate_limit_;
  sim::Duration module_limit_;
  bool from_entry_ = false;
};

/// The order that finishes soonest: the optimum up to `most_exact_stops` (dynamic programming over subsets:
/// Held and Karp, Journal of the Society for Industrial and Applied Mathematics 10, 1962), beyond them a good
/// one with a bound.
Route find_route(const RouteProblem& problem);

/// The best that can be made of the stops in this order; nothing when a setup mode would time out.
std::optional<Route> route_in_order(const RouteProblem& problem, const std::vector<std::size_t>& order);

/// No order of these stops can be done in less.
sim::Duration lower_bound(const RouteProblem& problem);

}  // namespace drybus::model
