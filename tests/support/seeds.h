// Random tests: which seeds they run, and the command that runs a failing one again.
#pragma once

#include <cstdint>
#include <cstdlib>
#include <string>
#include <vector>

namespace drybus::test {

/// One seed asked for in the environment (DRYBUS_SEED), or 1 ... `count`.
inline std::vector<std::uint64_t> seeds(std::uint64_t count) {
  if (const char* asked = std::getenv("DRYBUS_SEED")) return {std::strtoull(asked, nullptr, 10)};
  std::vector<std::uint64_t> all(count);
  for (std::uint64_t i = 0; i < count; ++i) all[i] = i + 1;
  return all;
}

inline std::string replay(std::uint64_t seed, const std::string& test_case) {
  return "seed " + std::to_string(seed) + "; replay with: DRYBUS_SEED=" + std::to_string(seed) +
         " <this test program> --test-case=\"" + test_case + "\"";
}

}  // namespace drybus::test
