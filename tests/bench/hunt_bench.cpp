// How fast the hunt goes through worlds of the full model: one plate, three modules, fingerprints instead of keys, one core.
#include <benchmark/benchmark.h>

#include "model/hunt/hunt.h"
#include "tests/support/small_site.h"

namespace {

using namespace drybus;

void site_1x3(benchmark::State& state) {
  const model::Scenario scenario = tests::small_scenario(3);
  model::HuntGoal goal;
  goal.finding =
      model::FindingId::stuck_button;  // no move of the search makes one: the whole space within the bounds
  model::HuntOptions options;
  options.compact = true;
  options.symmetry = false;
  options.bounds.depth = 8;
  options.bounds.states = 300'000;
  std::uint64_t moves = 0;
  double bytes_per_state = 0;
  for ([[maybe_unused]] auto _ : state) {
    const model::HuntResult result = model::hunt(scenario, goal, options);
    moves += result.search.progress.transitions;
    bytes_per_state = static_cast<double>(result.search.progress.memory_bytes) /
                      static_cast<double>(result.search.progress.states);
  }
  // A state is a world that a move leads to, looked at and compared with those that are known; most are known.
  state.counters["states_per_s"] =
      benchmark::Counter(static_cast<double>(moves), benchmark::Counter::kIsRate);
  state.counters["bytes_per_state"] = bytes_per_state;
}
BENCHMARK(site_1x3)->Name("hunt/site_1x3")->Unit(benchmark::kMillisecond);

}  // namespace
