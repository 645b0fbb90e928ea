// What a fork costs: copying and hashing the world of a 50-device site in the middle of its life.
#include <benchmark/benchmark.h>

#include "model/simulation.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;

/// Two plates and 48 modules, half a minute after a plate entered setup: beacons, blips and breathing under way.
struct Busy {
  model::Scenario scenario = tests::small_scenario(48, 2);
  model::World world;
  Busy() {
    tests::Script script{scenario};
    script.hold("P1", tests::set, std::chrono::milliseconds{5500})
        .press("P1", tests::up)
        .wait(std::chrono::minutes{2});
    world = model::initial_world(scenario);
    model::Simulation simulation{scenario, world};
    simulation.begin();
    simulation.run_until(sim::start_of_run + std::chrono::milliseconds{30010});
  }
};

void copy(benchmark::State& state) {
  const Busy busy;
  model::World fork;
  for (auto _ : state) {
    fork = busy.world;
    benchmark::DoNotOptimize(fork);
    benchmark::ClobberMemory();
  }
}
BENCHMARK(copy)->Name("fork/copy")->Unit(benchmark::kMicrosecond);

void copy_afresh(benchmark::State& state) {
  const Busy busy;
  for (auto _ : state) {
    model::World fork = busy.world;
    benchmark::DoNotOptimize(fork);
  }
}
BENCHMARK(copy_afresh)->Name("fork/copy_afresh")->Unit(benchmark::kMicrosecond);

void hash(benchmark::State& state) {
  const Busy busy;
  for (auto _ : state) benchmark::DoNotOptimize(model::hash_of(busy.world));
}
BENCHMARK(hash)->Name("fork/hash")->Unit(benchmark::kMicrosecond);

}  // namespace
