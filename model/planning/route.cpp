#include "model/planning/route.h"

#include <algorithm>
#include <map>
#include <numeric>

#include "model/planning/route_exact.h"

namespace drybus::model {

namespace {

using Label = RouteTimes::Label;
using Order = std::vector<std::size_t>;

constexpr sim::Duration never = sim::Duration::max() / 4;

/// The problem with the nearest plate only, where several could assign: beyond the exact sizes.
RouteProblem with_one_plate_each(const RouteProblem& problem) {
  RouteProblem simpler = problem;
  for (RouteStop& stop : simpler.stops) stop.plates.resize(1);
  return simpler;
}

// --- a given order ---

/// The best choice of plates and of what comes first, for an order that is given; kept from stop to stop.
class OrderedRoute {
 public:
  explicit OrderedRoute(const RouteProblem& problem) : problem_(problem), times_(problem) {}

  std::optional<Route> along(const Order& order) {
    nodes_.clear();
    std::vector<std::uint32_t> front;
    for (std::size_t i = 0; i < order.size(); ++i) {
      front = i == 0 ? begin(order[0]) : go_on(front, order[i]);
      if (front.empty()) return std::nullopt;
    }
    return read_back(front);
  }

 private:
  struct Node {
    Label label;
    Visit visit;
    std::uint32_t before = none;
    static constexpr std::uint32_t none = 0xffffffff;
  };

  std::vector<std::uint32_t> begin(std::size_t stop) {
    std::vector<std::uint32_t> front;
    for (const RouteSeed& seed : seeds_of(times_, stop, problem_.start)) {
      keep(front, {seed.label, seed.visit, Node::none});
    }
    return front;
  }

  std::vector<std::uint32_t> go_on(const std::vector<std::uint32_t>& front, std::size_t stop) {
    std::vector<std::uint32_t> next;
    for (const std::uint32_t index : front) {
      for (const DeviceId plate : problem_.stops[stop].plates) {
        for (const VisitOrder order :
             {VisitOrder::go_on, VisitOrder::module_first, VisitOrder::plate_first}) {
          const Visit visit{stop, plate, order};
          const auto label = times_.next(nodes_[index].label, nodes_[index].visit, visit);
          if (label) keep(next, {*label, visit, index});
        }
      }
    }
    return next;
  }

  void keep(std::vector<std::uint32_t>& front, const Node& node) {
    const auto beats = [](const Node& a, const Node& b) {
      return a.visit.plate == b.visit.plate && a.label.time <= b.label.time && a.label.age <= b.label.age;
    };
    for (const std::uint32_t other : front) {
      if (beats(nodes_[other], node)) return;
    }
    std::erase_if(front, [&](std::uint32_t other) { return beats(node, nodes_[other]); });
    front.push_back(static_cast<std::uint32_t>(nodes_.size()));
    nodes_.push_back(node);
  }

  [[nodiscard]] Route read_back(const std::vector<std::uint32_t>& front) const {
    const auto ends = [this](std::uint32_t node) {
      return times_.finished(nodes_[node].label, nodes_[node].visit);
    };
    const auto sooner = [&ends](std::uint32_t a, std::uint32_t b) { return ends(a) < ends(b); };
    std::uint32_t at = *std::min_element(front.begin(), front.end(), sooner);
    Route route;
    route.time = ends(at);
    for (; at != Node::none; at = nodes_[at].before) route.visits.push_back(nodes_[at].visit);
    std::reverse(route.visits.begin(), route.visits.end());
    return route;
  }

  const RouteProblem& problem_;
  RouteTimes times_;
  std::vector<Node> nodes_;
};

// --- many stops: zone by zone ---

/// The stops of one plate, done together: for each place where that may begin, the best way to go on from there.
struct Block {
  DeviceId plate = no_device;
  Order stops;
  std::map<PlaceId, Route> from;
};

class BlockRoute {
 public:
  explicit BlockRoute(const RouteProblem& problem) : problem_(problem), times_(problem) {
    std::map<DeviceId, Order> by_plate;
    for (std::size_t i = 0; i < problem.stops.size(); ++i)
      by_plate[problem.stops[i].plates.front()].push_back(i);
    for (auto& [plate, stops] : by_plate) blocks_.push_back({plate, std::move(stops), {}});
    for (Block& block : blocks_) solve(block);
  }

  Order order() {
    Order blocks = nearest_neighbours();
    improve(blocks);
    Order stops;
    std::optional<PlaceId> stands = problem_.start;
    for (const std::size_t index : blocks) {
      const Route& route = best(blocks_[index], stands).first;
      for (const Visit& visit : route.visits) stops.push_back(visit.stop);
      stands = problem_.site.place(blocks_[index].plate);
    }
    return stops;
  }

 private:
  void solve(Block& block) {
    std::map<PlaceId, std::vector<RouteSeed>> seeds;
    for (const std::size_t stop : block.stops) {
      for (const VisitOrder order : {VisitOrder::module_first, VisitOrder::plate_first}) {
        const Visit visit{stop, block.plate, order};
        const DeviceId begins_at =
            order == VisitOrder::plate_first ? block.plate : problem_.stops[stop].module;
        const auto label = times_.first(visit, std::nullopt);
        if (label) seeds[problem_.site.place(begins_at)].push_back({visit, *label});
      }
    }
    for (const auto& [place, of_place] : seeds) block.from[place] = rest_of(block, of_place);
  }

  [[nodiscard]] Route rest_of(const Block& block, const std::vector<RouteSeed>& seeds) const {
    if (block.stops.size() <= most_exact_stops) return best_from(times_, block.stops, seeds);
    Route best;
    for (const RouteSeed& seed : seeds) {
      Order order = block.stops;
      std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        if ((a == seed.visit.stop) != (b == seed.visit.stop)) return a == seed.visit.stop;
        return problem_.stops[a].channel < problem_.stops[b].channel;
      });
      RouteProblem from_here = problem_;
      from_here.start.reset();
      Route route = route_in_order(from_here, order).value_or(Route{});
      if (best.visits.empty() || route.time < best.time) best = std::move(route);
    }
    return best;
  }

  /// The route through a block for somebody who comes from a place, and its time with the walk there.
  [[nodiscard]] std::pair<const Route&, sim::Duration> best(const Block& block,
                                                            std::optional<PlaceId> from) const {
    const Route* best = &block.from.begin()->second;
    sim::Duration least = never;
    for (const auto& [place, route] : block.from) {
      if (route.visits.empty()) continue;
      const sim::Duration walk = from ? problem_.site.walk(*from, place) : sim::Duration::zero();
      if (walk + route.time >= least) continue;
      least = walk + route.time;
      best = &route;
    }
    return {*best, least};
  }

  [[nodiscard]] sim::Duration total(const Order& blocks) const {
    sim::Duration sum{};
    std::optional<PlaceId> stands = problem_.start;
    for (const std::size_t index : blocks) {
      sum += best(blocks_[index], stands).second;
      stands = problem_.site.place(blocks_[index].plate);
    }
    return sum;
  }

  [[nodiscard]] Order nearest_neighbours() const {
    Order shortest;
    for (std::size_t first = 0; first < blocks_.size(); ++first) {
      Order order{first};
      while (order.size() < blocks_.size()) order.push_back(nearest_to(order));
      if (shortest.empty() || total(order) < total(shortest)) shortest = order;
    }
    return shortest;
  }

  [[nodiscard]] std::size_t nearest_to(const Order& order) const {
    std::size_t nearest = blocks_.size();
    sim::Duration least = sim::Duration::max();
    for (std::size_t i = 0; i < blocks_.size(); ++i) {
      if (std::find(order.begin(), order.end(), i) != order.end()) continue;
      const sim::Duration time = best(blocks_[i], problem_.site.place(blocks_[order.back()].plate)).second;
      if (time < least) {
        least = time;
        nearest = i;
      }
    }
    return nearest;
  }

  /// Moves stretches of one to three blocks and turns stretches about, as long as that helps.
  void improve(Order& order) const {
    for (bool better = true; better;) {
      better = false;
      for (std::size_t from = 0; from < order.size(); ++from) {
        for (std::size_t to = from + 1; to <= order.size(); ++to)
          better = try_changes(order, from, to) || better;
      }
    }
  }

  bool try_changes(Order& order, std::size_t from, std::size_t to) const {
    const sim::Duration before = total(order);
    Order changed = order;
    std::reverse(changed.begin() + static_cast<std::ptrdiff_t>(from),
                 changed.begin() + static_cast<std::ptrdiff_t>(to));
    if (total(changed) < before) {
      order = changed;
      return true;
    }
    for (std::size_t length = 1; length <= 3 && from + length < to; ++length) {
      changed = order;
      std::rotate(changed.begin() + static_cast<std::ptrdiff_t>(from),
                  changed.begin() + static_cast<std::ptrdiff_t>(from + length),
                  changed.begin() + static_cast<std::ptrdiff_t>(to));
      if (total(changed) < before) {
        order = changed;
        return true;
      }
    }
    return false;
  }

  const RouteProblem& problem_;
  RouteTimes times_;
  std::vector<Block> blocks_;
};

Route exact_route(const RouteProblem& problem) {
  Order stops(problem.stops.size());
  std::iota(stops.begin(), stops.end(), std::size_t{0});
  const RouteTimes times{problem};
  std::vector<RouteSeed> seeds;
  for (const std::size_t stop : stops) {
    const auto of_stop = seeds_of(times, stop, problem.start);
    seeds.insert(seeds.end(), of_stop.begin(), of_stop.end());
  }
  Route route = best_from(times, stops, seeds);
  route.bound = route.time;
  route.optimal = true;
  return route;
}

/// Somebody alone can do the stop at all, from anywhere.
bool can_be_done_alone(const RouteTimes& times, std::size_t stop) {
  return !seeds_of(times, stop, std::nullopt).empty();
}

}  // namespace

std::optional<Route> route_in_order(const RouteProblem& problem, const std::vector<std::size_t>& order) {
  if (order.empty()) return Route{};
  return OrderedRoute{problem}.along(order);
}

Route find_route(const RouteProblem& problem) {
  RouteProblem doable = problem;
  doable.stops.clear();
  Order index;
  Route route;
  const RouteTimes times{problem};
  for (std::size_t i = 0; i < problem.stops.size(); ++i) {
    if (can_be_done_alone(times, i)) {
      doable.stops.push_back(problem.stops[i]);
      index.push_back(i);
    } else {
      route.apart.push_back(i);
    }
  }
  Route found;
  if (doable.stops.empty()) {
    found.optimal = true;
  } else if (doable.stops.size() <= most_exact_stops) {
    found = exact_route(doable);
  } else {
    const RouteProblem simpler = with_one_plate_each(doable);
    found = *route_in_order(simpler, BlockRoute{simpler}.order());
    found.bound = lower_bound(doable);
    found.optimal = found.time == found.bound;
  }
  for (Visit& visit : found.visits) visit.stop = index[visit.stop];
  found.apart = std::move(route.apart);
  return found;
}

}  // namespace drybus::model
