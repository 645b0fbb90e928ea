// How many runs of the main scenario a second, with people's timing and slips, on one core.
#include <benchmark/benchmark.h>

#include "model/run/sweep.h"
#include "tools/load/load.h"

namespace {

void main_scenario(benchmark::State& state) {
  const auto loaded = drybus::tools::load_scenario(DRYBUS_SOURCE_DIR "/scenarios/training/setup-split.yaml");
  drybus::model::Sweeper sweeper{loaded.scenario, {}, 1};
  std::uint64_t run = 0;
  for ([[maybe_unused]] auto _ : state) {
    benchmark::DoNotOptimize(sweeper.runs(run, 1));
    ++run;
  }
  state.counters["runs_per_s"] = benchmark::Counter(static_cast<double>(run), benchmark::Counter::kIsRate);
}
BENCHMARK(main_scenario)->Name("sweep/main_scenario")->Unit(benchmark::kMicrosecond);

}  // namespace
