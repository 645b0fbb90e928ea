#include "model/handover/install.h"

#include <algorithm>
#include <numeric>

#include "model/findings/scenes.h"
#include "model/people/timetable.h"
#include "model/planning/cover_work.h"
#include "model/planning/route_script.h"

namespace drybus::model {

namespace {

Step power_step(DeviceId device, bool on) {
  Step step;
  step.kind = StepKind::power;
  step.device = device;
  step.on = on;
  return step;
}

/// Levels that nobody tells apart do not make two scenes of one.
bool look_alike(const std::array<Level, max_scenes>& one, const std::array<Level, max_scenes>& other) {
  for (std::size_t i = 0; i < max_scenes; ++i) {
    const bool unset = one[i] == no_scene_level, unset_there = other[i] == no_scene_level;
    if (unset != unset_there || (!unset && look_apart(one[i], other[i]))) return false;
  }
  return true;
}

bool is_check(const Step& step) {
  return step.kind == StepKind::see || step.kind == StepKind::expect;
}

/// What has no power stays without when the supply comes back.
void stay_dead(const Install& install, const PlacedCause& placed, Changes& changes) {
  if (!install.power_cut || placed.cause != Mishap::dead_device) return;
  const auto end = static_cast<std::uint32_t>(install.report.believed.people.front().script.size() - 1);
  changes.push_back(change::Insert{{0, end}, {power_step(placed.device, false)}});
}

}  // namespace

Install install_of(const RouteProblem& problem, bool power_cut) {
  Install install;
  Scenario& scenario = install.report.believed;
  if (problem.stops.empty() && problem.to_set.empty()) {
    scenario.site = problem.site;
    scenario.times = problem.times;
    scenario.people.push_back({"installer", problem.start.value_or(0), {}});
  } else {
    scenario = route_script(problem, find_route(problem)).scenario;
  }
  for (Person& person : scenario.people) std::erase_if(person.script, is_check);
  scenario.checks.clear();
  std::vector<Step>& script = scenario.people.front().script;
  install.work = static_cast<std::uint32_t>(script.size());
  install.power_cut = power_cut;
  const Family& family = problem.site.family;
  script.push_back(wait_step(std::max(family.plate.time_out.after, family.module.time_out.after) +
                             std::chrono::minutes{1}));
  if (power_cut) {
    script.push_back(power_step(no_device, false));
    script.push_back(wait_step(off_for));
    script.push_back(power_step(no_device, true));
  }
  script.push_back(wait_step(start_takes));
  return install;
}

bool alike(const Site& site, const World& a, const World& b) {
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const DeviceState &x = a.devices[i], &y = b.devices[i];
    if (x.powered != y.powered || x.stuck != y.stuck || x.mode != y.mode) return false;
  }
  for (std::size_t i = 0; i < site.plates.size(); ++i) {
    if (a.plates[i].site != b.plates[i].site || a.plates[i].zone != b.plates[i].zone) return false;
  }
  for (std::size_t i = 0; i < site.modules.size(); ++i) {
    const ModuleMemory &x = a.modules[i].newest(), &y = b.modules[i].newest();
    if (x.address != y.address || x.power_up != y.power_up || !look_alike(x.scenes, y.scenes)) return false;
  }
  const auto broken = a.medium.impairments(), others = b.medium.impairments();
  return std::equal(broken.begin(), broken.end(), others.begin(), others.end());
}

Aftermath::Aftermath(const Install& install, const Catalogue& catalogue)
    : install_(install), catalogue_(catalogue), retelling_(install.report, catalogue) {}

World Aftermath::end_of(const std::vector<const PlacedChange*>& causes) const {
  Changes changes;
  for (const PlacedChange* cause : causes) {
    changes.insert(changes.end(), cause->changes.begin(), cause->changes.end());
    stay_dead(install_, cause->placed, changes);
  }
  return retelling_.end_of(changes);
}

Outcomes Aftermath::outcomes(std::size_t most_runs) const {
  Outcomes outcomes;
  outcomes.right = retelling_.end_of({});
  for (PlacedChange& cause : place_causes(retelling_, catalogue_)) {
    // What comes after the work is no slip in it.
    if (!cause.placed.step || *cause.placed.step < install_.work) outcomes.causes.push_back(std::move(cause));
  }
  std::stable_sort(outcomes.causes.begin(), outcomes.causes.end(),
                   [](const PlacedChange& a, const PlacedChange& b) { return a.chance > b.chance; });
  if (outcomes.causes.size() > most_runs) {
    outcomes.skipped = outcomes.causes.size() - most_runs;
    outcomes.causes.resize(most_runs);
  }
  const Site& site = install_.report.believed.site;
  for (std::uint32_t i = 0; i < outcomes.causes.size(); ++i) {
    const PlacedChange& cause = outcomes.causes[i];
    World world = end_of({&cause});
    if (alike(site, world, outcomes.right)) {
      ++outcomes.harmless;
      continue;
    }
    const auto known = std::find_if(outcomes.wrong.begin(), outcomes.wrong.end(),
                                    [&](const Outcome& each) { return alike(site, each.world, world); });
    if (known == outcomes.wrong.end()) {
      outcomes.wrong.push_back({std::move(world), cause.chance, {i}});
    } else {
      known->chance += cause.chance;
      known->causes.push_back(i);
    }
  }
  return outcomes;
}

}  // namespace drybus::model
