#include "model/recovery/rehearsal.h"

#include "model/recovery/recover.h"
#include "model/run/driver.h"

namespace drybus::model {

namespace {

std::vector<Pattern> indicators(const World& world) {
  std::vector<Pattern> all;
  all.reserve(world.devices.size());
  for (const DeviceState& device : world.devices) all.push_back(device.indicator);
  return all;
}

}  // namespace

Rehearsal rehearse(const Scenario& scenario, const World& world, std::span<const Step> steps, bool watched) {
  Scenario cured = scenario;
  cured.people[0].script.assign(steps.begin(), steps.end());
  Rehearsal rehearsal{world, {}};
  PersonState& installer = rehearsal.world.people[0];
  installer.step = 0;
  installer.phase = 0;
  installer.done = 0;
  Simulation simulation{cured, rehearsal.world};
  simulation.schedule(sim::Duration::zero(), Happening::person, 0, 0, sim::no_entry);
  Driver driver{simulation};
  if (!watched) {
    driver.carry(0);
    return rehearsal;
  }
  // A step that begins at once may change what the one before it left to be seen.
  std::vector<Pattern> before = indicators(rehearsal.world);
  driver.go_on([&] { return rehearsal.world.people[0].done != 0; },
               [&] {
                 if (rehearsal.world.people[0].step > rehearsal.shown.size())
                   rehearsal.shown.resize(rehearsal.world.people[0].step, before);
                 before = indicators(rehearsal.world);
               });
  return rehearsal;
}

World world_after(const Scenario& scenario, const World& world, std::span<const Step> steps) {
  return rehearse(scenario, world, steps, false).world;
}

}  // namespace drybus::model
