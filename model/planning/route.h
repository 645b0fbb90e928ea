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

/// The durations of which every visit is made, and the limits on them, as the families of its devices have it.
///
/// A module that asks is answered as soon as it is in setup, so its plate comes first; who puts it there stays beside it.
/// So does who confirms an offered address at the module; a plate that was left before would leave the module behind.
class RouteTimes {
 public:
  /// `problem` must outlive this.
  explicit RouteTimes(const RouteProblem& problem);

  /// What has been spent when a visit is done, and for how long its plate has been in setup by then (or nobody has
  /// pressed it, where that counts).
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
  /// Leaves setup after the last visit, and goes back to the plate for that.
  [[nodiscard]] sim::Duration finished(const Label& label, const Visit& last) const;

  [[nodiscard]] const RouteProblem& problem() const { return problem_; }
  [[nodiscard]] sim::Duration tap() const { return tap_; }
  [[nodiscard]] sim::Duration plate_gesture(DeviceId plate) const { return plates_[plate].gesture; }
  /// Until a stop's module is in setup and the next thing can be done.
  [[nodiscard]] sim::Duration way(std::size_t stop) const { return stops_[stop].way; }
  [[nodiscard]] bool asks(std::size_t stop) const { return stops_[stop].asks; }
  [[nodiscard]] bool confirms(std::size_t stop) const { return stops_[stop].confirm > sim::Duration::zero(); }
  /// Whether whoever does a stop ends up beside its module, and not at its plate.
  [[nodiscard]] bool ends_at_module(std::size_t stop) const { return asks(stop) || confirms(stop); }
  /// The channel at which a plate has to stand for a stop.
  [[nodiscard]] std::uint8_t stands_for(std::size_t stop) const {
    return static_cast<std::uint8_t>(problem_.stops[stop].channel - (asks(stop) ? 1 : 0));
  }
  [[nodiscard]] std::uint8_t first_channel(DeviceId plate) const { return plates_[plate].first_channel; }
  /// How long an offered address is given to be confirmed.
  [[nodiscard]] sim::Duration confirm_limit(std::size_t stop) const { return stops_[stop].confirm; }

 private:
  struct PlateTimes {
    sim::Duration gesture{};  ///< and the pause
    sim::Duration limit{};
    bool from_entry = false;
    std::uint8_t first_channel = 0;
  };
  struct StopTimes {
    sim::Duration way{};    ///< until it is in setup, and the pause
    sim::Duration since{};  ///< of that, in setup already
    sim::Duration limit{};
    sim::Duration confirm{};  ///< zero: it need not be
    bool asks = false;
  };

  [[nodiscard]] std::optional<Label> enter_and_assign(sim::Duration so_far, sim::Duration walk,
                                                      const Visit& visit) const;
  [[nodiscard]] bool press(Label& label, DeviceId plate, unsigned times) const;
  [[nodiscard]] bool can_be_left(const Label& label, const Visit& visit) const;
  [[nodiscard]] bool be_answered(Label& label, const Visit& visit) const;
  [[nodiscard]] bool confirm(Label& label, const Visit& visit) const;
  [[nodiscard]] sim::Duration between(const Visit& visit) const;
  [[nodiscard]] PlaceId ends_at(const Visit& visit) const;

  const RouteProblem& problem_;
  sim::Duration tap_;  ///< a press and the pause after it
  std::vector<PlateTimes> plates_;
  std::vector<StopTimes> stops_;
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
