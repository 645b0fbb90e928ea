// The scenarios that are asked what they would notice: all loaded, all passing.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "tools/script/reader.h"

namespace drybus::tools {

struct Suite {
  std::vector<std::string> paths;
  std::vector<LoadedScenario> scenarios;  ///< the quickest first; one for each path

  [[nodiscard]] const model::Scenario& scenario(std::size_t i) const { return scenarios[i].scenario; }
};

/// Loads and runs them all, on `jobs` threads. Throws Unusable for a scenario that cannot be read, fails or
/// does not come to its end as it is: what it would notice says nothing.
Suite load_suite(const std::vector<std::string>& paths, std::size_t jobs);

}  // namespace drybus::tools
