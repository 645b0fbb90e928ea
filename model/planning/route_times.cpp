#include <algorithm>

#include "model/planning/route.h"
#include "model/planning/ways_into_setup.h"

namespace drybus::model {

namespace {

void spend(RouteTimes::Label& label, sim::Duration time) {
  label.time += time;
  label.age += time;
}

unsigned steps_between(std::uint8_t from, std::uint8_t to) {
  return from < to ? to - from : from - to;
}

}  // namespace

RouteTimes::RouteTimes(const RouteProblem& problem)
    : problem_(problem), tap_(problem.times.press + problem.times.pause) {
  const Site& site = problem.site;
  const std::int64_t share = 100 - std::min(problem.reserve_percent, 90u);
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    const TimeOut& time_out = site.time_out(plate);
    plates_.push_back({way_times(site, problem.times, plate).whole, time_out.after * share / 100,
                       time_out.from == CountedFrom::entry, model::first_channel(site.plate_family(plate))});
  }
  for (const RouteStop& stop : problem.stops) {
    const WayTimes way = way_times(site, problem.times, stop.module);
    stops_.push_back({way.whole, way.since, site.time_out(stop.module).after * share / 100,
                      confirmed_within(site, stop.module) * share / 100, model::asks(site, stop.module)});
  }
}

sim::Duration RouteTimes::between(const Visit& visit) const {
  const Site& site = problem_.site;
  return site.walk(site.place(problem_.stops[visit.stop].module), site.place(visit.plate));
}

PlaceId RouteTimes::ends_at(const Visit& visit) const {
  return problem_.site.place(ends_at_module(visit.stop) ? problem_.stops[visit.stop].module : visit.plate);
}

/// Presses on the plate in setup; false where it would not be there any more, or could not be left in time.
bool RouteTimes::press(Label& label, DeviceId plate, unsigned times) const {
  const PlateTimes& of = plates_[plate];
  if (times == 0) return true;
  if (!of.from_entry && label.age > of.limit) return false;
  spend(label, tap_ * times);
  if (of.from_entry) return label.age + tap_ <= of.limit;
  label.age = tap_;
  return true;
}

/// Whether the plate, from beside the module, is still in setup when somebody comes back to leave it.
bool RouteTimes::can_be_left(const Label& label, const Visit& visit) const {
  const PlateTimes& plate = plates_[visit.plate];
  return label.age + between(visit) + (plate.from_entry ? tap_ : sim::Duration::zero()) <= plate.limit;
}

/// From beside the module, which asks as soon as it is in setup.
bool RouteTimes::be_answered(Label& label, const Visit& visit) const {
  spend(label, stops_[visit.stop].way);
  return can_be_left(label, visit);
}

/// From the plate to the module that was offered an address.
bool RouteTimes::confirm(Label& label, const Visit& visit) const {
  if (!confirms(visit.stop)) return true;
  if (tap_ + between(visit) + problem_.times.press > stops_[visit.stop].confirm) return false;
  spend(label, between(visit) + tap_);
  return can_be_left(label, visit);
}

std::optional<RouteTimes::Label> RouteTimes::enter_and_assign(sim::Duration so_far, sim::Duration walk,
                                                              const Visit& visit) const {
  const StopTimes& stop = stops_[visit.stop];
  const PlateTimes& plate = plates_[visit.plate];
  if (stop.asks && visit.order != VisitOrder::plate_first) return std::nullopt;
  const sim::Duration since_gesture = hold_margin + problem_.times.pause;
  const sim::Duration way = between(visit);
  const unsigned steps = steps_between(plate.first_channel, stands_for(visit.stop)) + (stop.asks ? 0 : 1);
  Label label{so_far + walk, {}};
  sim::Duration in_setup = stop.since + way + tap_ * steps;
  if (visit.order == VisitOrder::plate_first) {
    label.time += plate.gesture;
    label.age = since_gesture;
    if (stop.asks) {
      if (!press(label, visit.plate, steps)) return std::nullopt;
      spend(label, way);
      return be_answered(label, visit) ? std::optional{label} : std::nullopt;
    }
    spend(label, way + stop.way + way);
    // Whoever comes back too late finds it gone, whatever counts.
    if (label.age > plate.limit) return std::nullopt;
  } else {
    in_setup += plate.gesture;
    label.time += stop.way + way + plate.gesture;
    label.age = since_gesture;
  }
  if (in_setup > stop.limit || !press(label, visit.plate, steps) || !confirm(label, visit))
    return std::nullopt;
  return label;
}

std::optional<RouteTimes::Label> RouteTimes::first(const Visit& visit, std::optional<PlaceId> from) const {
  const DeviceId begins_at =
      visit.order == VisitOrder::plate_first ? visit.plate : problem_.stops[visit.stop].module;
  const sim::Duration walk =
      from ? problem_.site.walk(*from, problem_.site.place(begins_at)) : sim::Duration::zero();
  return visit.order == VisitOrder::go_on ? std::nullopt : enter_and_assign({}, walk, visit);
}

std::optional<RouteTimes::Label> RouteTimes::next(const Label& label, const Visit& before,
                                                  const Visit& visit) const {
  const Site& site = problem_.site;
  const PlaceId module_at = site.place(problem_.stops[visit.stop].module);
  const PlaceId plate_at = site.place(before.plate);
  if (visit.order != VisitOrder::go_on) {
    const PlaceId begins_at = visit.order == VisitOrder::plate_first ? site.place(visit.plate) : module_at;
    return enter_and_assign(finished(label, before), site.walk(plate_at, begins_at), visit);
  }
  if (visit.plate != before.plate) return std::nullopt;
  const StopTimes& stop = stops_[visit.stop];
  const unsigned steps = steps_between(problem_.stops[before.stop].channel, stands_for(visit.stop));
  Label after = label;
  PlaceId stands = ends_at(before);
  if (stop.asks) {
    if (steps > 0) {
      spend(after, site.walk(stands, plate_at));
      if (!press(after, visit.plate, steps)) return std::nullopt;
      stands = plate_at;
    }
    spend(after, site.walk(stands, module_at));
    return be_answered(after, visit) ? std::optional{after} : std::nullopt;
  }
  spend(after, site.walk(stands, module_at) + stop.way + between(visit));
  if (stop.since + between(visit) + tap_ * (steps + 1) > stop.limit) return std::nullopt;
  if (!press(after, visit.plate, steps + 1) || !confirm(after, visit)) return std::nullopt;
  return after;
}

sim::Duration RouteTimes::finished(const Label& label, const Visit& last) const {
  return label.time + tap_ + (ends_at_module(last.stop) ? between(last) : sim::Duration::zero());
}

}  // namespace drybus::model
