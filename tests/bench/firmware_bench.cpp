// What it costs that devices run somebody's firmware: the C reference firmware, guards and all, against the
// built-in devices that it equals, both in the same run. Three ways, the last one the hardest: every scenario
// that ships, run as `check` runs it; a sweep; and a busy site of 50 devices with nobody recording, where all
// of the time is the bus and the devices.
#include <benchmark/benchmark.h>

#include <string>
#include <vector>

#include "model/run/run.h"
#include "model/run/sweep.h"
#include "model/world/simulation.h"
#include "tests/support/small_site.h"
#include "tools/load/load.h"
#include "tools/load/scenario_files.h"
#include "tools/options/firmware_choice.h"

namespace {

using namespace drybus;

tools::FirmwareChoice choice(bool firmware) {
  if (!firmware) return {};
  return tools::FirmwareChoice{{DRYBUS_FIRMWARE_DIR "/reference.so"}};
}

/// Two plates and 48 modules, installed one after another: presses, beacons, blips, identify and assigns, for
/// ten minutes.
model::Scenario busy_site(bool firmware) {
  model::Scenario scenario = tests::small_scenario(48, 2);
  tests::Script script{scenario};
  for (int channel = 1; channel <= 8; ++channel) {
    tests::address(script, "P1", "M" + std::to_string(channel), channel);
    script.press("P1", tests::off).wait(std::chrono::seconds{50});
  }
  choice(firmware).put_in(scenario);
  return scenario;
}

void events(benchmark::State& state, bool firmware) {
  const model::Scenario scenario = busy_site(firmware);
  const model::World start = model::initial_world(scenario);
  model::World world;
  std::uint64_t events = 0;
  for ([[maybe_unused]] auto _ : state) {
    world = start;
    model::Simulation simulation{scenario, world};
    simulation.begin();
    while (!simulation.scripts_done()) {
      simulation.step();
      ++events;
    }
  }
  state.counters["events_per_s"] =
      benchmark::Counter(static_cast<double>(events), benchmark::Counter::kIsRate);
}
BENCHMARK_CAPTURE(events, built_in, false)->Name("firmware/events/built_in")->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(events, reference, true)->Name("firmware/events/reference")->Unit(benchmark::kMicrosecond);

void suite(benchmark::State& state, bool firmware) {
  std::vector<model::Scenario> scenarios;
  for (const std::string& path :
       tools::scenario_files(std::vector<std::string>{DRYBUS_SOURCE_DIR "/scenarios"})) {
    scenarios.push_back(tools::load_scenario(path).scenario);
    choice(firmware).put_in(scenarios.back());
  }
  for ([[maybe_unused]] auto _ : state) {
    for (const model::Scenario& scenario : scenarios) benchmark::DoNotOptimize(model::run(scenario));
  }
}
BENCHMARK_CAPTURE(suite, built_in, false)->Name("firmware/suite/built_in")->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(suite, reference, true)->Name("firmware/suite/reference")->Unit(benchmark::kMicrosecond);

void sweep(benchmark::State& state, bool firmware) {
  auto loaded = tools::load_scenario(DRYBUS_SOURCE_DIR "/scenarios/training/setup-split.yaml");
  choice(firmware).put_in(loaded.scenario);
  model::Sweeper sweeper{loaded.scenario, {}, 1};
  std::uint64_t run = 0;
  for ([[maybe_unused]] auto _ : state) benchmark::DoNotOptimize(sweeper.runs(run++ % 1000, 1));
}
BENCHMARK_CAPTURE(sweep, built_in, false)->Name("firmware/sweep/built_in")->Unit(benchmark::kMicrosecond);
BENCHMARK_CAPTURE(sweep, reference, true)->Name("firmware/sweep/reference")->Unit(benchmark::kMicrosecond);

}  // namespace
