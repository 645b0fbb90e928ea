// Delta debugging on bare numbers. The example is from Zeller and Hildebrandt, "Simplifying and Isolating
// Failure-Inducing Input", IEEE TSE 28(2), 2002, figure 4: parts 1, 7 and 8 of eight fail together, and only
// together.
#include "sim/shrink.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "tests/support/seeds.h"

using namespace drybus::sim;

namespace {

bool has_all(const Parts& some, const Parts& needed) {
  return std::includes(some.begin(), some.end(), needed.begin(), needed.end());
}

}  // namespace

TEST_SUITE("shrink") {
  TEST_CASE("the paper's example comes down to parts 1, 7 and 8") {
    const Parts needed{0, 6, 7};
    CHECK(minimise(8, [&](const Parts& some) { return has_all(some, needed); }) == needed);
  }

  TEST_CASE("what fails with nothing at all comes down to nothing") {
    CHECK(minimise(5, [](const Parts&) { return true; }).empty());
    CHECK(minimise(0, [](const Parts&) { return true; }).empty());
  }

  TEST_CASE("a single part that is needed stays") {
    CHECK(minimise(1, [](const Parts& some) { return !some.empty(); }) == Parts{0});
  }

  TEST_CASE("no part of the result can go, whatever the parts have to do with each other") {
    // Fails when the number of parts is odd or it holds 3: far from monotone.
    const auto fails = [](const Parts& some) {
      return !some.empty() &&
             (some.size() % 2 == 1 || std::count(some.begin(), some.end(), std::size_t{3}) != 0);
    };
    const Parts kept = minimise(15, fails);
    REQUIRE(fails(kept));
    for (std::size_t i = 0; i < kept.size(); ++i) {
      Parts less = kept;
      less.erase(less.begin() + static_cast<std::ptrdiff_t>(i));
      CHECK_FALSE(fails(less));
    }
  }

  TEST_CASE("any set of needed parts is found, in fewer runs than the paper's worst case") {
    for (const std::uint64_t seed : drybus::test::seeds(200)) {
      INFO(drybus::test::replay(seed, "any set of needed parts*"));
      std::mt19937_64 draws{seed};
      const std::size_t count = 1 + draws() % 40;
      Parts needed;
      for (std::size_t i = 0; i < count; ++i) {
        if (draws() % 5 == 0) needed.push_back(i);
      }
      std::size_t runs = 0;
      const Parts kept = minimise(count, [&](const Parts& some) {
        ++runs;
        return has_all(some, needed);
      });
      CHECK(kept == needed);
      CHECK(runs <= count * count + 3 * count + 1);  // section 3.2, and one run of nothing at all
    }
  }

  TEST_CASE("a boundary is found to the step, from nothing up to the most") {
    for (const std::int64_t last : {0, 1, 2, 3, 99, 100, 1000}) {
      const Reach reach_to = reach(100, [&](std::int64_t steps) { return steps <= last; });
      CHECK(reach_to.steps == std::min<std::int64_t>(last, 100));
      CHECK(reach_to.ended == (last < 100));
    }
    CHECK(reach(0, [](std::int64_t) { return true; }).steps == 0);
  }
}
