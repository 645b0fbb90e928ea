// A site in the middle of its life, to fork and to measure.
#pragma once

#include <chrono>

#include "model/world/simulation.h"
#include "tests/support/small_site.h"

namespace drybus::tests {

/// Two plates and 48 modules, half a minute after a plate entered setup: beacons, blips and breathing under way.
struct BusySite {
  model::Scenario scenario = small_scenario(48, 2);
  model::World world;

  BusySite() {
    Script script{scenario};
    script.hold("P1", set, std::chrono::milliseconds{3000}).press("P1", up).wait(std::chrono::minutes{2});
    world = model::initial_world(scenario);
    model::Simulation simulation{scenario, world};
    simulation.begin();
    simulation.run_until(sim::start_of_run + std::chrono::milliseconds{30010});
  }
};

}  // namespace drybus::tests
