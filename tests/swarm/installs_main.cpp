// drybus_installs FIRST COUNT, from the source folder: so many correct installs from that seed on, of every family in
// scenarios/families, on all cores; in none may anything be found.
// Exit 1 tells how many of each kind are accused, and the first seeds.
#include <fmt/format.h>

#include <cstdio>
#include <map>

#include "tests/swarm/correct_install.h"
#include "tests/swarm/seeds_wanted.h"
#include "tools/base/parallel.h"

int main(int count, char** words) {
  using namespace drybus;
  const tests::SeedsWanted wanted = tests::seeds_wanted(count, words);
  if (wanted.cases == 0) return 2;
  const std::uint64_t first = wanted.first;
  const std::uint64_t cases = wanted.cases;
  const std::vector<model::Family> families = tests::families_in("scenarios/families");
  std::vector<std::string> said(cases);
  tools::in_parallel(cases, 0, [&](std::size_t i) {
    said[i] = tests::accusation(tests::correct_install(families, first + i));
  });
  std::map<std::string, std::uint64_t> kinds;
  for (std::uint64_t i = 0; i < cases; ++i) {
    if (said[i].empty()) continue;
    std::uint64_t& met = kinds[said[i].substr(0, said[i].find(':'))];
    if (++met <= 3)
      fmt::print("seed {}: {}; replay with: {} {} 1\n", first + i, said[i], words[0], first + i);
  }
  for (const auto& [kind, met] : kinds) fmt::print("{:>8} {}\n", met, kind);
  if (kinds.empty()) fmt::print("{} correct installs from {} on: nothing is found in any\n", cases, first);
  return kinds.empty() ? 0 : 1;
}
