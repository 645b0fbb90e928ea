// How often the true cause is found, how many checks it takes to be sure, and whether the cure cures: 600
// calls about one slip or fault and 400 about two, on as many threads as there are cores.
#include <benchmark/benchmark.h>

#include <algorithm>
#include <string>
#include <vector>

#include "tests/bench/diagnosis_score.h"
#include "tools/base/parallel.h"
#include "tools/script/catalogue_reader.h"

namespace {

using namespace drybus;

constexpr std::size_t single_cases = 600;
constexpr std::size_t double_cases = 400;

bench::Families shipped_families() {
  bench::Families families;
  for (const char* name : {"wired-keypad", "radio-keypad"}) {
    auto reading = tools::read_family(std::string{DRYBUS_SOURCE_DIR "/scenarios/families/"} + name + ".yaml");
    families.all.push_back(reading.value().family);
  }
  return families;
}

double share(const std::vector<bench::CaseScore>& scores, std::size_t from, std::size_t to,
             std::size_t best) {
  const auto within = std::count_if(
      scores.begin() + static_cast<std::ptrdiff_t>(from), scores.begin() + static_cast<std::ptrdiff_t>(to),
      [best](const bench::CaseScore& score) { return score.rank >= 1 && score.rank <= best; });
  return static_cast<double>(within) / static_cast<double>(to - from);
}

void telephone_calls(benchmark::State& state) {
  const bench::Families families = shipped_families();
  const model::Catalogue catalogue =
      tools::read_catalogue(DRYBUS_SOURCE_DIR "/scenarios/catalogue.yaml").value();
  constexpr std::size_t cases = single_cases + double_cases;
  std::vector<bench::CaseScore> scores(cases);
  for ([[maybe_unused]] auto _ : state) {
    tools::in_parallel(cases, 0, [&](std::size_t i) {
      const bool one = i < single_cases;
      scores[i] = bench::score_case(bench::make_case(families, i + 1, one ? 1 : 2), catalogue);
    });
  }
  std::vector<double> seconds;
  double checks = 0;
  double cured = 0;
  double cured_first = 0;
  double cured_checked = 0;
  double isolated = 0;
  for (const bench::CaseScore& score : scores) {
    seconds.push_back(score.seconds);
    checks += static_cast<double>(score.checks);
    cured += score.cured ? 1 : 0;
    cured_first += score.cured_first ? 1 : 0;
    cured_checked += score.cured_checked ? 1 : 0;
    isolated += score.isolated ? 1 : 0;
  }
  std::sort(seconds.begin(), seconds.end());
  state.counters["cases"] = cases;
  state.counters["top1_single"] = share(scores, 0, single_cases, 1);
  state.counters["top3_single"] = share(scores, 0, single_cases, 3);
  state.counters["top1_double"] = share(scores, single_cases, cases, 1);
  state.counters["top3_double"] = share(scores, single_cases, cases, 3);
  state.counters["isolated"] = isolated / cases;
  state.counters["checks_mean"] = checks / cases;
  state.counters["cured"] = cured / cases;
  state.counters["cured_first"] = cured_first / cases;
  state.counters["cured_checked"] = cured_checked / cases;
  state.counters["median_s"] = seconds[cases / 2];
  state.counters["worst_s"] = seconds.back();
}
BENCHMARK(telephone_calls)->Name("diagnosis/telephone_calls")->Unit(benchmark::kSecond)->Iterations(1);

}  // namespace
