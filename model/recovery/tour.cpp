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
    const auto lit = [this](DeviceId module) { return rules_.wants_other_site(situation_, module); };
    const bool two_numbers = anybody(lit);
    if (!set_switches(two_numbers)) return std::nullopt;
    if (two_numbers) {
      if (!go_round(visits(lit))) return std::nullopt;
      leave_all();
      if (!set_switches(false)) return std::nullopt;
    }
    if (!go_round(visits([this](DeviceId module) { return rules_.wants_address(situation_, module); })))
      return std::nullopt;
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

  template <class Holds>
  [[nodiscard]] bool anybody(Holds holds) const {
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      if (holds(site().module_id(i))) return true;
    }
    return false;
  }

  // --- with the covers off ---

  /// All in one isolation, before anybody is put in setup. `for_the_while`: plates that modules need another
  /// site number of show that.
  bool set_switches(bool for_the_while) {
    std::vector<std::uint8_t> wanted(site().plates.size(), 1);
    for (std::size_t i = 0; for_the_while && i < site().modules.size(); ++i) {
      const DeviceId module = site().module_id(i);
      if (rules_.wants_other_site(situation_, module) && !rules_.plates_of(module).empty())
        wanted[rules_.plates_of(module).front()] = 2;
    }
    std::vector<DeviceId> plates;
    for (DeviceId plate = 0; plate < site().plates.size(); ++plate) {
      if (rules_.own(plate) && belief(plate).setting != wanted[plate]) plates.push_back(plate);
    }
    if (plates.empty() && !situation_.isolated) return true;
    if (!situation_.isolated && !act(Kind::isolate, no_device)) return false;
    while (!plates.empty()) {
      const auto nearest = std::min_element(
          plates.begin(), plates.end(), [this](DeviceId a, DeviceId b) { return walk_to(a) < walk_to(b); });
      if (!act(wanted[*nearest] == 1 ? Kind::set_aim : Kind::set_other, *nearest)) return false;
      plates.erase(nearest);
    }
    return act(Kind::restore, no_device);
  }

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

  /// A module in setup would take the first address that is offered, whoever that is meant for.
  void leave_listeners() {
    leave([this](DeviceId device) { return !site().is_plate(device); });
    // What is left is next door, and out of our hands.
    while (anybody([this](DeviceId module) { return belief(module).standing != Standing::normal; }))
      act({Kind::wait, no_device, 1, rules_.wait_for_time_out(situation_).value()});
  }
  void leave_all() {
    leave([](DeviceId) { return true; });
  }

  // --- visits ---

  template <class Concerns>
  [[nodiscard]] std::vector<Visit> visits(Concerns concerns) {
    RouteProblem problem{site(), rules_.times(), {}, situation_.place, options_.reserve_percent};
    for (std::size_t i = 0; i < site().modules.size(); ++i) {
      const DeviceId module = site().module_id(i);
      if (!concerns(module) || rules_.plates_of(module).empty()) continue;
      std::vector<DeviceId> plates = rules_.plates_of(module);
      if (rules_.wants_other_site(situation_, module)) plates.resize(1);
      problem.stops.push_back({module, rules_.channel_of(module), std::move(plates)});
    }
    stops_ = problem.stops;
    if (stops_.empty()) return {};
    return find_route(problem).visits;
  }

  bool go_round(const std::vector<Visit>& route) {
    if (route.empty()) return true;
    leave_listeners();
    for (std::size_t i = 0; i < route.size(); ++i) {
      const bool leaves = i + 1 == route.size() || route[i + 1].order != VisitOrder::go_on;
      if (!assign(route[i]) || (leaves && !act(Kind::press, route[i].plate))) return false;
    }
    return true;
  }

  /// Should the plate's setup not last as the route has it, the module comes first and the plate anew.
  bool assign(const Visit& visit) {
    const Situation before = situation_;
    const std::size_t steps = plan_.actions.size();
    if (visit.order != VisitOrder::module_first && enter_plate(visit.plate) && enter_module(visit) &&
        offer(visit))
      return true;
    situation_ = before;
    plan_.actions.resize(steps);
    return enter_module(visit) && act(Kind::press, visit.plate) && enter_plate(visit.plate) && offer(visit);
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

  bool offer(const Visit& visit) {
    const DeviceId plate = visit.plate;
    const RouteStop& stop = stops_[visit.stop];
    while (belief(plate).channel != stop.channel) {
      if (!act(belief(plate).channel < stop.channel ? Kind::next : Kind::previous, plate)) return false;
    }
    if (belief(stop.module).standing != Standing::setup) return false;
    if (!act({Kind::assign, plate, rules_.offers_needed(situation_, plate), {}})) return false;
    // What was offered is kept by a press on the module, where its family asks for one.
    return belief(stop.module).offered == 0 || act(Kind::press, stop.module);
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
