// A cure for sites of any size, made of visits in the order of the shortest route.
#include <algorithm>

#include "model/planning/route.h"
#include "model/recovery/search.h"

namespace drybus::model {

namespace {

using Kind = CureAction::Kind;

class Tour {
 public:
  Tour(const CureRules& rules, PlaceId place, const RecoverOptions& options)
      : rules_(rules), options_(options), situation_(rules.beginning(place)) {}

  std::optional<CurePlan> make() {
    leave_listeners();
    const std::vector<Visit> route = visits();
    for (std::size_t i = 0; i < route.size(); ++i) {
      const bool leaves = i + 1 == route.size() || route[i + 1].order != VisitOrder::go_on;
      if (!call_on(route[i], leaves)) return std::nullopt;
    }
    set_what_is_left();
    leave_all();
    if (!rules_.is_over(situation_)) return std::nullopt;
    plan_.time = situation_.now;
    return std::move(plan_);
  }

 private:
  [[nodiscard]] const Site& site() const { return rules_.site(); }
  [[nodiscard]] Belief& belief(DeviceId device) { return situation_.devices[device]; }

  bool act(const CureAction& action) {
    Situation next = situation_;
    if (!rules_.act(next, action)) return false;
    situation_ = std::move(next);
    plan_.actions.push_back(action);
    return true;
  }
  bool act(Kind kind, DeviceId device) { return act(CureAction{kind, device, 1, {}}); }

  // --- setups that go on ---

  [[nodiscard]] sim::Duration walk_to(DeviceId device) const {
    return site().walk(situation_.place, site().place(device));
  }

  /// Leaves the setups of these devices, the nearest first, or waits where that is sooner.
  template <class Concerns>
  void leave(Concerns concerns) {
    while (true) {
      std::vector<DeviceId> left;
      sim::Duration longest{};
      for (DeviceId device = 0; device < site().device_count(); ++device) {
        if (!rules_.own(device) || belief(device).standing == Standing::normal || !concerns(device)) continue;
        left.push_back(device);
        longest = std::max(longest, belief(device).over_at - situation_.now);
      }
      if (left.empty()) return;
      const DeviceId nearest = *std::min_element(
          left.begin(), left.end(), [this](DeviceId a, DeviceId b) { return walk_to(a) < walk_to(b); });
      const bool wait = longest <= walk_to(nearest) + rules_.tap() * static_cast<std::int64_t>(left.size());
      const auto duration = rules_.wait_for_time_out(situation_);
      if (!(wait && duration && act({Kind::wait, no_device, 1, *duration}))) act(Kind::press, nearest);
    }
  }

  /// A module in setup that holds what it shall would take the first address that is offered.
  void leave_listeners() {
    if (nobody_waits()) return;
    leave([this](DeviceId device) {
      return !site().is_plate(device) && !rules_.wants_address(situation_, device);
    });
  }
  void leave_all() {
    leave([](DeviceId) { return true; });
  }

  [[nodiscard]] bool nobody_waits() const {
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      if (rules_.wants_address(situation_, site().module_id(i))) return false;
    }
    return true;
  }

  // --- visits ---

  [[nodiscard]] std::vector<Visit> visits() {
    RouteProblem problem{site(), rules_.times(), {}, situation_.place, options_.reserve_percent};
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const DeviceId module = site().module_id(i);
      if (!rules_.wants_address(situation_, module) || rules_.plates_of(module).empty()) continue;
      problem.stops.push_back({module, rules_.channel_of(module), rules_.plates_of(module)});
    }
    stops_ = problem.stops;
    if (stops_.empty()) return {};
    return find_route(problem).visits;
  }

  bool call_on(const Visit& visit, bool leaves) {
    const DeviceId module = stops_[visit.stop].module;
    if (rules_.wants_other_site(situation_, module) && !assign(visit, Kind::set_other)) return false;
    if (!assign(visit, Kind::set_aim)) return false;
    return !leaves || act(Kind::press, visit.plate);
  }

  /// One assign. Should the plate's setup not last as the route has it, the module comes first and the plate
  /// anew.
  bool assign(const Visit& visit, Kind setting) {
    const Situation before = situation_;
    const std::size_t steps = plan_.actions.size();
    if (visit.order != VisitOrder::module_first && enter_plate(visit.plate) && enter_module(visit) &&
        offer(visit, setting))
      return true;
    situation_ = before;
    plan_.actions.resize(steps);
    return enter_module(visit) && act(Kind::press, visit.plate) && enter_plate(visit.plate) &&
           offer(visit, setting);
  }

  bool enter_plate(DeviceId plate) {
    if (belief(plate).standing == Standing::setup) return true;
    if (belief(plate).standing == Standing::either && !act(Kind::press, plate)) return false;
    return act(Kind::hold, plate);
  }

  bool enter_module(const Visit& visit) {
    const DeviceId module = stops_[visit.stop].module;
    if (belief(module).standing == Standing::setup) return true;
    if (belief(module).standing == Standing::either && !act(Kind::press, module)) return false;
    return act(Kind::hold, module);
  }

  bool offer(const Visit& visit, Kind setting) {
    const DeviceId plate = visit.plate;
    const RouteStop& stop = stops_[visit.stop];
    const std::uint8_t wanted = setting == Kind::set_aim ? 1 : 2;
    if (belief(plate).setting != wanted && !act(setting, plate)) return false;
    while (belief(plate).channel != stop.channel) {
      if (!act(belief(plate).channel < stop.channel ? Kind::next : Kind::previous, plate)) return false;
    }
    if (belief(stop.module).standing != Standing::setup) return false;
    return act({Kind::assign, plate, rules_.offers_needed(situation_, plate), {}});
  }

  void set_what_is_left() {
    for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
      if (rules_.own(plate) && belief(plate).setting != 1) act(Kind::set_aim, plate);
    }
  }

  const CureRules& rules_;
  const RecoverOptions& options_;
  Situation situation_;
  std::vector<RouteStop> stops_;
  CurePlan plan_;
};

}  // namespace

std::optional<CurePlan> tour_cure(const CureRules& rules, PlaceId place, const RecoverOptions& options) {
  return Tour{rules, place, options}.make();
}

}  // namespace drybus::model
