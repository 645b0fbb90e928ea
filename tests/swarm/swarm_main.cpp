// drybus_swarm FIRST COUNT: so many swarm cases from that seed on, on all cores. Exit 1 names the first that
// fails.
#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <functional>

#include "model/record/trace.h"
#include "tests/swarm/seeds_wanted.h"
#include "tests/swarm/swarm.h"
#include "tools/base/parallel.h"
#include "tools/load/load.h"

namespace {

/// Exit 1 when a large swarm never saw something that devices and people do: it would prove nothing about
/// that.
int tell_what_was_met(const drybus::tests::SwarmTally& met, std::uint64_t cases) {
  using drybus::model::What;
  int code = 0;
  for (auto kind = static_cast<std::size_t>(What::began); kind < static_cast<std::size_t>(What::checked);
       ++kind) {
    fmt::print("  {:>12} {}\n", met[kind], to_string(static_cast<What>(kind)));
    // An outbox hardly fills, and a bus is hardly busy so long that a sender gives up.
    const bool is_rare =
        kind == static_cast<std::size_t>(What::gave_up) || kind == static_cast<std::size_t>(What::dropped);
    if (met[kind] == 0 && !is_rare && cases >= 5000) code = 1;
  }
  return code;
}

}  // namespace

int main(int count, char** words) {
  using namespace drybus;
  const tests::SeedsWanted wanted = tests::seeds_wanted(count, words);
  if (wanted.cases == 0) return 2;
  const std::uint64_t first = wanted.first;
  const std::uint64_t cases = wanted.cases;
  const std::vector<model::Family> families = {tools::load_family("wired-keypad").family,
                                               tools::load_family("radio-keypad").family};
  constexpr std::uint64_t block = 500;
  std::vector<std::string> failures((cases + block - 1) / block);
  std::vector<tests::SwarmTally> tallies(failures.size());
  tools::in_parallel(failures.size(), 0, [&](std::size_t i) {
    for (std::uint64_t seed = first + i * block; seed < first + std::min(cases, (i + 1) * block); ++seed) {
      const std::string wrong = tests::swarm_case(families, seed, tallies[i]);
      if (wrong.empty()) continue;
      failures[i] = fmt::format("seed {}: {}; replay with: {} {} 1\n", seed, wrong, words[0], seed);
      return;
    }
  });
  for (const std::string& failure : failures) {
    if (failure.empty()) continue;
    fmt::print("{}", failure);
    return 1;
  }
  tests::SwarmTally met{};
  for (const tests::SwarmTally& tally : tallies)
    std::transform(met.begin(), met.end(), tally.begin(), met.begin(), std::plus{});
  fmt::print("{} cases from {} on: every invariant holds\n", cases, first);
  return tell_what_was_met(met, cases);
}
