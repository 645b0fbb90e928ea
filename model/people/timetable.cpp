#include "model/people/timetable.h"

#include <algorithm>

namespace drybus::model {

std::optional<PlaceId> place_for(const Site& site, const Step& step) {
  switch (step.kind) {
    case StepKind::walk:
      return step.place;
    case StepKind::press:
    case StepKind::hold:
    case StepKind::switches:
      return site.place(step.device);
    case StepKind::power:
    case StepKind::wait:
    case StepKind::fault:
    case StepKind::see:
    case StepKind::expect:
    case StepKind::note:
      return std::nullopt;
  }
  return std::nullopt;
}

PlaceId first_place(const Site& site, const std::vector<Step>& script) {
  for (const Step& step : script) {
    if (const auto place = place_for(site, step)) return *place;
  }
  return 0;
}

sim::Duration time_taken(const Step& step, const HumanTimes& times) {
  switch (step.kind) {
    case StepKind::press:
    case StepKind::hold:
      return step.duration + times.pause;
    case StepKind::wait:
      return step.duration;
    case StepKind::switches:
    case StepKind::power:
      return times.pause;
    case StepKind::walk:
    case StepKind::fault:
    case StepKind::see:
    case StepKind::expect:
    case StepKind::note:
      return sim::Duration::zero();
  }
  return sim::Duration::zero();
}

Timetable timetable(const Site& site, const HumanTimes& times, const Person& person) {
  constexpr sim::Instant latest = sim::start_of_run + longest_run;
  Timetable table;
  table.begins.reserve(person.script.size());
  PlaceId stands = person.place;
  sim::Instant now = sim::start_of_run;
  for (std::size_t i = 0; i < person.script.size(); ++i) {
    const Step& step = person.script[i];
    if (step.at && *step.at < now) table.late.push_back({i, now});
    now = std::max(now, step.at.value_or(now));
    table.begins.push_back(now);
    if (const auto there = place_for(site, step); there && *there != stands) {
      now += site.walk(stands, *there);
      stands = *there;
    }
    now = std::min(now + time_taken(step, times), latest);
  }
  table.ends = now;
  return table;
}

}  // namespace drybus::model
