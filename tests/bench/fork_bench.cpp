// What a fork costs: copying and hashing the world of a 50-device site in the middle of its life.
#include <benchmark/benchmark.h>

#include "tests/support/busy_site.h"

namespace {

using namespace drybus;

void copy(benchmark::State& state) {
  const tests::BusySite busy;
  model::World fork;
  for ([[maybe_unused]] auto _ : state) {
    fork = busy.world;
    benchmark::DoNotOptimize(fork);
    benchmark::ClobberMemory();
  }
}
BENCHMARK(copy)->Name("fork/copy")->Unit(benchmark::kMicrosecond);

void copy_afresh(benchmark::State& state) {
  const tests::BusySite busy;
  for ([[maybe_unused]] auto _ : state) {
    model::World fork = busy.world;
    benchmark::DoNotOptimize(fork);
  }
}
BENCHMARK(copy_afresh)->Name("fork/copy_afresh")->Unit(benchmark::kMicrosecond);

void hash(benchmark::State& state) {
  const tests::BusySite busy;
  for ([[maybe_unused]] auto _ : state) benchmark::DoNotOptimize(model::hash_of(busy.world));
}
BENCHMARK(hash)->Name("fork/hash")->Unit(benchmark::kMicrosecond);

}  // namespace
