// A time below which no route can be, however many stops there are. The problem is relaxed: time-outs never
// end anything, every zone is done in one go, and only between zones is it asked that one leads to the next.
#include <algorithm>
#include <map>
#include <utility>

#include "model/planning/route.h"

namespace drybus::model {

namespace {

class Relaxation {
 public:
  explicit Relaxation(const RouteProblem& problem) : problem_(problem), times_(problem) {
    const std::size_t places = problem.site.places.size();
    std::vector<WalkLeg> legs;
    for (PlaceId a = 0; a < places; ++a) {
      for (PlaceId b = 0; b < places; ++b) legs.push_back({a, b, problem.site.walk(a, b)});
    }
    nearest_ = shortest_walks(places, legs, {});
    std::map<std::pair<std::uint8_t, std::uint8_t>, std::size_t> zones;
    for (std::size_t i = 0; i < problem.stops.size(); ++i) {
      const PlateSpec& any = problem.site.plates[problem.stops[i].plates.front()];
      const auto [zone, fresh] = zones.insert({{any.site, any.zone}, zones_.size()});
      if (fresh) zones_.emplace_back();
      add(zones_[zone->second], i);
    }
  }

  [[nodiscard]] sim::Duration bound() const {
    sim::Duration sum{};
    for (std::size_t i = 0; i < problem_.stops.size(); ++i) sum += arrival(i) + times_.way(i) + assigning(i);
    for (const Zone& zone : zones_) sum += gesture(zone) + times_.tap() + times_.tap() * steps(zone);
    return sum + between_zones();
  }

 private:
  struct Zone {
    std::vector<DeviceId> plates;
    std::vector<std::size_t> stops;
    std::uint8_t highest = 0;
  };

  void add(Zone& zone, std::size_t index) const {
    const RouteStop& stop = problem_.stops[index];
    zone.stops.push_back(index);
    zone.highest = std::max(zone.highest, stop.channel);
    for (const DeviceId plate : stop.plates) {
      if (std::find(zone.plates.begin(), zone.plates.end(), plate) == zone.plates.end())
        zone.plates.push_back(plate);
    }
  }

  [[nodiscard]] sim::Duration walk(PlaceId from, PlaceId to) const {
    return nearest_[from * problem_.site.places.size() + to];
  }
  [[nodiscard]] PlaceId place(std::size_t stop) const {
    return problem_.site.place(problem_.stops[stop].module);
  }

  /// What follows when a module is in setup: to a plate and a press there, and back for another where it is confirmed.
  [[nodiscard]] sim::Duration assigning(std::size_t stop) const {
    if (times_.asks(stop)) return sim::Duration::zero();
    const sim::Duration offered = from_any(problem_.stops[stop].plates, stop) + times_.tap();
    return times_.confirms(stop) ? 2 * offered : offered;
  }

  [[nodiscard]] sim::Duration gesture(const Zone& zone) const {
    sim::Duration least = sim::Duration::max();
    for (const DeviceId plate : zone.plates) least = std::min(least, times_.plate_gesture(plate));
    return least;
  }

  /// Channels that have to be stepped to; a module that asks is given the next one by itself.
  [[nodiscard]] std::int64_t steps(const Zone& zone) const {
    std::uint8_t first = 0;
    for (const DeviceId plate : zone.plates) first = std::max(first, times_.first_channel(plate));
    std::int64_t left = zone.highest - first;
    for (const std::size_t stop : zone.stops) left -= times_.asks(stop) ? 1 : 0;
    return std::max<std::int64_t>(left, 0);
  }

  [[nodiscard]] sim::Duration from_any(const std::vector<DeviceId>& plates, std::size_t stop) const {
    sim::Duration least = sim::Duration::max();
    for (const DeviceId plate : plates)
      least = std::min(least, walk(problem_.site.place(plate), place(stop)));
    return least;
  }

  /// The shortest way to a module from wherever a visit may have ended, or from the start.
  [[nodiscard]] sim::Duration arrival(std::size_t stop) const {
    sim::Duration least = problem_.start ? walk(*problem_.start, place(stop)) : sim::Duration::max();
    for (const Zone& zone : zones_) least = std::min(least, from_any(zone.plates, stop));
    for (std::size_t other = 0; other < problem_.stops.size(); ++other) {
      if (other != stop && times_.ends_at_module(other))
        least = std::min(least, walk(place(other), place(stop)));
    }
    return least;
  }

  /// What it takes at least, beyond `arrival`, to come to a zone from another's plates.
  [[nodiscard]] sim::Duration entry(const Zone& from, const Zone& to) const {
    sim::Duration least = sim::Duration::max();
    for (const std::size_t stop : to.stops)
      least = std::min(least, from_any(from.plates, stop) - arrival(stop));
    return least;
  }

  [[nodiscard]] sim::Duration entry_from_start(const Zone& to) const {
    sim::Duration least = sim::Duration::max();
    for (const std::size_t stop : to.stops) {
      const sim::Duration walked =
          problem_.start ? walk(*problem_.start, place(stop)) : sim::Duration::zero();
      least = std::min(least, walked - arrival(stop));
    }
    return least;
  }

  [[nodiscard]] bool any_ends_at_module() const {
    for (std::size_t stop = 0; stop < problem_.stops.size(); ++stop) {
      if (times_.ends_at_module(stop)) return true;
    }
    return false;
  }

  /// One zone is come to from the start, each other from some other zone. Where visits end at modules, it is only asked
  /// that the first one needs no way from another.
  [[nodiscard]] sim::Duration between_zones() const {
    if (any_ends_at_module()) {
      sim::Duration least = sim::Duration::zero();
      for (const Zone& zone : zones_) least = std::min(least, entry_from_start(zone));
      return least;
    }
    sim::Duration sum{};
    sim::Duration cheapest_start = sim::Duration::max();
    for (const Zone& to : zones_) {
      sim::Duration least = sim::Duration::max();
      for (const Zone& from : zones_) {
        if (&from != &to) least = std::min(least, entry(from, to));
      }
      if (zones_.size() == 1) return entry_from_start(to);
      sum += least;
      cheapest_start = std::min(cheapest_start, entry_from_start(to) - least);
    }
    return sum + cheapest_start;
  }

  const RouteProblem& problem_;
  RouteTimes times_;
  std::vector<sim::Duration>
      nearest_;  ///< like Site::walks, but by way of other places where that is shorter
  std::vector<Zone> zones_;
};

}  // namespace

sim::Duration lower_bound(const RouteProblem& problem) {
  return problem.stops.empty() ? sim::Duration::zero() : Relaxation{problem}.bound();
}

}  // namespace drybus::model
