#include "tools/commands/check_suite.h"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>

#include "model/run/run.h"
#include "model/words/words.h"
#include "tools/base/parallel.h"
#include "tools/base/unusable.h"
#include "tools/load/load.h"

namespace drybus::tools {

using model::tr;

Suite load_suite(const std::vector<std::string>& paths, std::size_t jobs) {
  std::vector<LoadedScenario> loaded(paths.size());
  std::vector<std::size_t> work(paths.size());  // entries of the record, the same on every machine
  in_parallel(paths.size(), jobs, [&](std::size_t i) {
    loaded[i] = load_scenario(paths[i]);
    model::RunOptions options;
    options.plain = true;
    const model::RunResult result = model::run(loaded[i].scenario, options);
    work[i] = result.record.size();
    if (!result.passed())
      throw Unusable{tr("{}: it does not pass as it is; 'drybus check' says why", paths[i])};
  });
  std::vector<std::size_t> order(paths.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return work[a] < work[b]; });
  Suite suite;
  for (const std::size_t i : order) {
    suite.paths.push_back(paths[i]);
    suite.scenarios.push_back(std::move(loaded[i]));
  }
  return suite;
}

}  // namespace drybus::tools
