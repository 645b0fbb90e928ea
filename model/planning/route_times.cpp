#include <algorithm>

#include "model/planning/route.h"

namespace drybus::model {

RouteTimes::RouteTimes(const RouteProblem& problem)
    : problem_(problem), tap_(problem.times.press + problem.times.pause) {
  const Family& family = problem.site.family;
  plate_gesture_ = family.plate.setup_hold + hold_margin + problem.times.pause;
  module_gesture_ = family.module.setup_hold + hold_margin + problem.times.pause;
  const std::int64_t share = 100 - std::min(problem.reserve_percent, 90u);
  plate_limit_ = family.plate.time_out.after * share / 100;
  module_limit_ = family.module.time_out.after * share / 100;
  from_entry_ = family.plate.time_out.from == CountedFrom::entry;
}

bool RouteTimes::plate_lasts(sim::Duration age) const {
  return !from_entry_ || age + tap_ <= plate_limit_;
}

std::optional<RouteTimes::Label> RouteTimes::enter_and_assign(sim::Duration so_far, sim::Duration walk,
                                                              const Visit& visit) const {
  const RouteStop& stop = problem_.stops[visit.stop];
  const sim::Duration since_gesture = hold_margin + problem_.times.pause;
  const sim::Duration between =
      problem_.site.walk(problem_.site.place(stop.module), problem_.site.place(visit.plate));
  const sim::Duration steps = step_time(0, stop.channel) + tap_;
  Label label;
  sim::Duration in_setup = since_gesture + between + steps;
  if (visit.order == VisitOrder::plate_first) {
    const sim::Duration away = since_gesture + 2 * between + module_gesture_;
    if (away > plate_limit_) return std::nullopt;
    label.time = so_far + walk + plate_gesture_ + between + module_gesture_ + between + steps;
    label.age = away + steps;
  } else {
    in_setup += plate_gesture_;
    label.time = so_far + walk + module_gesture_ + between + plate_gesture_ + steps;
    label.age = since_gesture + steps;
  }
  if (in_setup > module_limit_ || !plate_lasts(label.age)) return std::nullopt;
  if (!from_entry_) label.age = {};  // every press begins it anew
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
  const RouteStop& stop = problem_.stops[visit.stop];
  const PlaceId stands = site.place(before.plate);
  if (visit.order != VisitOrder::go_on) {
    const DeviceId begins_at = visit.order == VisitOrder::plate_first ? visit.plate : stop.module;
    return enter_and_assign(label.time + tap_, site.walk(stands, site.place(begins_at)), visit);
  }
  if (visit.plate != before.plate) return std::nullopt;
  const sim::Duration there = site.walk(stands, site.place(stop.module));
  const sim::Duration back = site.walk(site.place(stop.module), stands);
  const sim::Duration steps = step_time(problem_.stops[before.stop].channel, stop.channel) + tap_;
  const sim::Duration visit_time = there + module_gesture_ + back + steps;
  if (hold_margin + problem_.times.pause + back + steps > module_limit_) return std::nullopt;
  if (!from_entry_ && tap_ + there + module_gesture_ + back > plate_limit_) return std::nullopt;
  const sim::Duration age = from_entry_ ? label.age + visit_time : sim::Duration::zero();
  if (!plate_lasts(age)) return std::nullopt;
  return Label{label.time + visit_time, age};
}

}  // namespace drybus::model
