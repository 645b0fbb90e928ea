#include "model/planning/route.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <numeric>

#include "model/people/timetable.h"
#include "model/planning/route_script.h"
#include "model/run/run.h"
#include "sim/random.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;
using namespace drybus::model;
using namespace std::chrono_literals;

/// A site that the seed decides: places at random walks, up to three plates, and modules that their zones
/// assign.
RouteProblem random_problem(std::uint64_t seed, std::size_t modules) {
  sim::Stream draw{seed, sim::Purpose::generator, 0, 0};
  const Scenario small = tests::small_scenario(modules, 1 + draw.below(3));
  RouteProblem problem;
  problem.site = small.site;
  Site& site = problem.site;
  site.places = {{"a"}, {"b"}, {"c"}, {"d"}};
  std::vector<WalkLeg> legs;
  for (PlaceId a = 0; a < 4; ++a) {
    for (PlaceId b = 0; b < a; ++b) legs.push_back({a, b, std::chrono::seconds{3 + draw.below(50)}});
  }
  site.walks = shortest_walks(4, legs, 30s);
  if (draw.below(2) == 0)
    site.family.plate.time_out = {std::chrono::seconds{100 + draw.below(80)}, CountedFrom::entry};
  for (PlateSpec& plate : site.plates) plate.place = static_cast<PlaceId>(draw.below(4));
  if (site.plates.size() > 1 && draw.below(2) == 0) site.plates[1].zone = site.plates[0].zone;
  for (std::size_t i = 0; i < modules; ++i) {
    ModuleSpec& module = site.modules[i];
    module.place = static_cast<PlaceId>(draw.below(4));
    module.intended =
        Address{23, site.plates[draw.below(site.plates.size())].zone, static_cast<std::uint8_t>(i + 1)};
    RouteStop stop{site.module_id(i), module.intended->channel, {}};
    for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
      if (site.plates[plate].zone == module.intended->zone) stop.plates.push_back(plate);
    }
    problem.stops.push_back(std::move(stop));
  }
  std::vector<RouteStop>& stops =
      problem.stops;  // channels and the order of the file have nothing to do with each other
  for (std::size_t i = stops.size(); i > 1; --i) std::swap(stops[i - 1], stops[draw.below(i)]);
  if (draw.below(2) == 0) problem.start = static_cast<PlaceId>(draw.below(4));
  return problem;
}

/// Every permutation with every choice of plate and of what comes first, and nothing clever.
class BruteForce {
 public:
  explicit BruteForce(const RouteProblem& problem) : problem_(problem), times_(problem) {}

  sim::Duration best() {
    go({}, {}, 0);
    return best_;
  }

 private:
  void go(std::optional<RouteTimes::Label> label, Visit before, std::size_t done) {
    if (label && done == (std::size_t{1} << problem_.stops.size()) - 1)
      best_ = std::min(best_, times_.finished(*label, before));
    for (std::size_t stop = 0; stop < problem_.stops.size(); ++stop) {
      if ((done >> stop & 1) != 0) continue;
      for (const DeviceId plate : problem_.stops[stop].plates) {
        for (const VisitOrder order :
             {VisitOrder::go_on, VisitOrder::module_first, VisitOrder::plate_first}) {
          const Visit visit{stop, plate, order};
          const auto next = label ? times_.next(*label, before, visit) : times_.first(visit, problem_.start);
          if (next) go(next, visit, done | std::size_t{1} << stop);
        }
      }
    }
  }

  const RouteProblem& problem_;
  RouteTimes times_;
  sim::Duration best_ = sim::Duration::max();
};

RunResult run_of(const RouteProblem& problem, const Route& route) {
  return run(route_script(problem, route).scenario);
}

TEST_CASE(
    "on small sites the route is as short as the best of all permutations, and no bound is above that") {
  int with_passes = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    CAPTURE(seed);
    const RouteProblem problem = random_problem(seed, seed == 60 ? 7 : 2 + seed % 4);
    const Route route = find_route(problem);
    if (!route.apart.empty()) continue;
    REQUIRE(route.visits.size() == problem.stops.size());
    CHECK(route.time == BruteForce{problem}.best());
    CHECK(lower_bound(problem) <= route.time);
    for (const auto& [plate, times] : passes(route_script(problem, route).legs))
      with_passes += times > 1 ? 1 : 0;
  }
  CHECK(with_passes > 0);  // else the time-outs were never felt
}

/// The same, of a family whose modules come to their addresses in another way.
RouteProblem other_ways(std::uint64_t seed, std::size_t modules) {
  RouteProblem problem = random_problem(seed, modules);
  Family& family = problem.site.family;
  switch (seed % 4) {
    case 0:
      family.module.ask = 7s;
      break;
    case 1:
      family.module.confirm = std::chrono::seconds{20 + seed % 60};
      break;
    case 2:
      family.module.supply_gesture = {3, 3s};
      break;
    default:
      family.module.supply_gesture = {2, 2s};
      family.module.confirm = 100s;
  }
  return problem;
}

TEST_CASE(
    "modules that ask, confirm or count their supply have routes as short as the best of all, and a bound "
    "below") {
  std::size_t routes = 0, by_two = 0;
  for (std::uint64_t seed = 300; seed < 360; ++seed) {
    CAPTURE(seed);
    const RouteProblem problem = other_ways(seed, 2 + seed % 3);
    const Route route = find_route(problem);
    if (!route.apart.empty()) {
      ++by_two;
      continue;
    }
    ++routes;
    REQUIRE(route.visits.size() == problem.stops.size());
    CHECK(route.time == BruteForce{problem}.best());
    CHECK(lower_bound(problem) <= route.time);
    if (problem.site.family.module.ask > 0s) {
      for (const Visit& visit : route.visits) CHECK(visit.order != VisitOrder::module_first);
    }
  }
  CHECK(routes > 20);
  CHECK(by_two > 0);
}

TEST_CASE("a route takes as long as its scenario, and its run ends with every address held and no finding") {
  for (std::uint64_t seed = 100; seed < 140; ++seed) {
    CAPTURE(seed);
    const RouteProblem problem = random_problem(seed, 6);
    const Route route = find_route(problem);
    const RouteScript script = route_script(problem, route);
    const RunResult result = run(script.scenario);
    CHECK(result.passed());
    CHECK(result.findings.empty());
    if (!route.apart.empty()) continue;
    constexpr sim::Duration last_look = 2s;
    const auto ends = timetable(problem.site, problem.times, script.scenario.people[0]).ends;
    CHECK(ends == sim::start_of_run + route.time + last_look);
  }
}

TEST_CASE("the order of the file is never better than the route") {
  for (std::uint64_t seed = 200; seed < 230; ++seed) {
    CAPTURE(seed);
    const RouteProblem problem = random_problem(seed, 8);
    std::vector<std::size_t> order(problem.stops.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto naive = route_in_order(problem, order);
    const Route route = find_route(problem);
    if (naive) CHECK(naive->time >= route.time);
    if (naive) CHECK(run_of(problem, *naive).passed());
  }
}

TEST_CASE("beyond twelve stops the route still holds, and its bound is below it") {
  for (const std::size_t modules : {13u, 14u, 20u}) {
    RouteProblem problem = random_problem(7 + modules, modules);
    problem.site.family.plate.channels = 20;
    const Route route = find_route(problem);
    CHECK(route.bound <= route.time);
    CHECK(route.bound > sim::Duration::zero());
    CHECK(route.visits.size() + route.apart.size() == modules);
    const RunResult result = run_of(problem, route);
    CHECK(result.passed());
  }
}

TEST_CASE("a walk longer than the time-out asks for a second person, and with one the address arrives") {
  RouteProblem problem;
  Scenario small = tests::small_scenario(2);
  problem.site = small.site;
  problem.site.places = {{"hall"}, {"boiler house"}};
  problem.site.walks = shortest_walks(2, {{0, 1, 170s}}, 30s);
  problem.site.modules[1].place = 1;
  for (std::size_t i = 0; i < 2; ++i) {
    problem.stops.push_back({problem.site.module_id(i), static_cast<std::uint8_t>(i + 1), {0}});
  }
  const Route route = find_route(problem);
  CHECK(route.apart == std::vector<std::size_t>{1});
  CHECK(route.visits.size() == 1);
  const RouteScript script = route_script(problem, route);
  REQUIRE(script.scenario.people.size() == 2);
  CHECK(run(script.scenario).passed());
}

TEST_CASE("what is refused for its time-out does time out in a run, and what is just allowed does not") {
  for (const auto walk : {140s, 148s}) {  // the module leaves setup 150 s after it entered
    RouteProblem problem;
    problem.site = tests::small_scenario(1).site;
    problem.site.places = {{"hall"}, {"roof"}};
    problem.site.walks = shortest_walks(2, {{0, 1, walk}}, 30s);
    problem.site.modules[0].place = 1;
    problem.stops.push_back({problem.site.module_id(0), 1, {0}});
    problem.reserve_percent = 0;
    const bool lasts = find_route(problem).apart.empty();
    CHECK(lasts == (walk == 140s));
    Route by_force;
    by_force.visits = {{0, 0, VisitOrder::module_first}};
    const RunResult result = run_of(problem, by_force);
    CHECK(result.passed() == lasts);
  }
}

TEST_CASE("nothing to visit takes no time") {
  RouteProblem problem;
  problem.site = tests::small_scenario(1).site;
  const Route route = find_route(problem);
  CHECK(route.visits.empty());
  CHECK(route.time == sim::Duration::zero());
  CHECK(route.optimal);
}

}  // namespace
