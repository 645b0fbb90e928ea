// What has to hold in a fuzzer, in every build.
#pragma once

#include <cstdlib>

namespace drybus::tests {

inline void must(bool holds) {
  if (!holds) std::abort();
}

}  // namespace drybus::tests
