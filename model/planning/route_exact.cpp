#include "model/planning/route_exact.h"

#include <algorithm>
#include <array>
#include <cassert>

namespace drybus::model {

namespace {

using Label = RouteTimes::Label;

/// A label and how it came about, so that the route can be read back.
struct Node {
  Label label;
  std::uint32_t before = none;  ///< index into the store of nodes
  std::uint16_t ending = 0;     ///< which (stop, plate)
  VisitOrder order = VisitOrder::module_first;
  static constexpr std::uint32_t none = 0xffffffff;
};

class SubsetSearch {
 public:
  SubsetSearch(const RouteTimes& times, std::span<const std::size_t> stops)
      : times_(times), stops_(stops.begin(), stops.end()) {
    assert(stops.size() <= most_exact_stops);
    for (std::uint16_t bit = 0; bit < stops_.size(); ++bit) {
      for (const DeviceId plate : times.problem().stops[stops_[bit]].plates) endings_.push_back({bit, plate});
    }
    fronts_.resize((std::size_t{1} << stops_.size()) * endings_.size());
  }

  Route search(std::span<const RouteSeed> seeds) {
    for (const RouteSeed& seed : seeds) plant(seed);
    const std::size_t all = (std::size_t{1} << stops_.size()) - 1;
    for (std::size_t done = 1; done < all; ++done) {
      for (std::size_t last = 0; last < endings_.size(); ++last) extend(done, last);
    }
    return best_of(all);
  }

 private:
  struct Ending {
    std::uint16_t bit = 0;
    DeviceId plate = no_device;
  };

  [[nodiscard]] std::vector<std::uint32_t>& front(std::size_t done, std::size_t last) {
    return fronts_[done * endings_.size() + last];
  }
  [[nodiscard]] Visit visit_of(std::size_t ending, VisitOrder order) const {
    return {stops_[endings_[ending].bit], endings_[ending].plate, order};
  }

  void plant(const RouteSeed& seed) {
    for (std::uint16_t i = 0; i < endings_.size(); ++i) {
      if (stops_[endings_[i].bit] != seed.visit.stop || endings_[i].plate != seed.visit.plate) continue;
      keep(std::size_t{1} << endings_[i].bit, {seed.label, Node::none, i, seed.visit.order});
    }
  }

  /// Keeps a label unless another is as good in both respects; throws out those that it beats.
  void keep(std::size_t done, const Node& node) {
    std::vector<std::uint32_t>& kept = front(done, node.ending);
    const auto beats = [](const Label& a, const Label& b) { return a.time <= b.time && a.age <= b.age; };
    for (const std::uint32_t other : kept) {
      if (beats(nodes_[other].label, node.label)) return;
    }
    std::erase_if(kept, [&](std::uint32_t other) { return beats(node.label, nodes_[other].label); });
    kept.push_back(static_cast<std::uint32_t>(nodes_.size()));
    nodes_.push_back(node);
  }

  void extend(std::size_t done, std::size_t last) {
    const std::vector<std::uint32_t> labels = front(done, last);
    for (const std::uint32_t index : labels) {
      const Visit before = visit_of(last, nodes_[index].order);
      for (std::uint16_t to = 0; to < endings_.size(); ++to) {
        const std::size_t with = done | std::size_t{1} << endings_[to].bit;
        if (with == done) continue;
        for (const VisitOrder order :
             {VisitOrder::go_on, VisitOrder::module_first, VisitOrder::plate_first}) {
          const auto label = times_.next(nodes_[index].label, before, visit_of(to, order));
          if (label) keep(with, {*label, index, to, order});
        }
      }
    }
  }

  [[nodiscard]] Route best_of(std::size_t all) {
    std::uint32_t best = Node::none;
    Route route;
    for (std::size_t last = 0; last < endings_.size(); ++last) {
      for (const std::uint32_t index : front(all, last)) {
        const sim::Duration time = times_.finished(nodes_[index].label, visit_of(last, nodes_[index].order));
        if (best != Node::none && time >= route.time) continue;
        best = index;
        route.time = time;
      }
    }
    for (; best != Node::none; best = nodes_[best].before) {
      route.visits.push_back(visit_of(nodes_[best].ending, nodes_[best].order));
    }
    std::reverse(route.visits.begin(), route.visits.end());
    return route;
  }

  const RouteTimes& times_;
  std::vector<std::size_t> stops_;
  std::vector<Ending> endings_;
  std::vector<std::vector<std::uint32_t>> fronts_;
  std::vector<Node> nodes_;
};

}  // namespace

Route best_from(const RouteTimes& times, std::span<const std::size_t> stops,
                std::span<const RouteSeed> seeds) {
  return SubsetSearch{times, stops}.search(seeds);
}

std::vector<RouteSeed> seeds_of(const RouteTimes& times, std::size_t stop, std::optional<PlaceId> from) {
  std::vector<RouteSeed> seeds;
  for (const DeviceId plate : times.problem().stops[stop].plates) {
    for (const VisitOrder order : {VisitOrder::module_first, VisitOrder::plate_first}) {
      const Visit visit{stop, plate, order};
      if (const auto label = times.first(visit, from)) seeds.push_back({visit, *label});
    }
  }
  return seeds;
}

}  // namespace drybus::model
