// A building on an ordinary day: how much faster than life it runs on one core, and what a device costs.
#include <benchmark/benchmark.h>
#include <malloc.h>

#include "model/world/simulation.h"
#include "tools/commands/made_up_building.h"
#include "tools/script/reader.h"

namespace {

using namespace drybus;

const model::Family& family() {
  static const model::Family wired = [] {
    const auto read = tools::read_family(DRYBUS_SOURCE_DIR "/scenarios/families/wired-keypad.yaml");
    return read.value().family;
  }();
  return wired;
}

/// Bytes on the heap now, blocks of their own included.
double heap_bytes() {
  const struct mallinfo2 info = mallinfo2();
  return static_cast<double>(info.uordblks + info.hblkhd);
}

void day(benchmark::State& state) {
  const auto plates = static_cast<std::uint32_t>(state.range(0)) / 11;
  const double before = heap_bytes();
  const model::Scenario scenario = tools::building(family(), {plates, 10, 10}, 1);
  // What people are told to do is input, like a file; it is counted apart.
  const double without_copy = heap_bytes();
  const std::vector<model::Person> people = scenario.people;
  const double script_bytes = heap_bytes() - without_copy;
  double bytes = 0;
  double simulated_s = 0;
  for ([[maybe_unused]] auto _ : state) {
    model::World world = model::initial_world(scenario);
    model::Simulation simulation{scenario, world};
    simulation.begin();
    simulation.run_until(sim::start_of_run + std::chrono::hours{24});
    bytes = heap_bytes() - before - 2 * script_bytes;
    simulated_s += 24 * 3600;
  }
  const auto devices = static_cast<double>(scenario.site.device_count());
  state.counters["devices"] = devices;
  state.counters["realtime_factor"] = benchmark::Counter(simulated_s, benchmark::Counter::kIsRate);
  state.counters["script_bytes_per_device"] = script_bytes / devices;
  state.counters["bytes_per_device"] = bytes / devices;
}
BENCHMARK(day)
    ->Name("building/day")
    ->Arg(1100)
    ->Arg(2200)
    ->Arg(5500)
    ->Arg(11000)
    ->Arg(22000)
    ->Arg(55000)
    ->Arg(110000)
    ->Unit(benchmark::kMillisecond);

}  // namespace
