// Clocks that are a little off: by what, how evenly, and what that makes of a time.
#include "sim/clock.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <set>

namespace sim = drybus::sim;
using namespace std::chrono_literals;

TEST_SUITE("clock") {
  TEST_CASE("a clock that is 50 ppm slow takes a quarter of a millisecond more for five seconds") {
    CHECK(sim::really_takes(5s, 50'000) == 5s + 250us);
    CHECK(sim::really_takes(5s, -50'000) == 5s - 250us);
    CHECK(sim::really_takes(5s, 0) == 5s);
    CHECK(sim::really_takes(24h, 1'000'000) == 24h + 86'400ms);
  }

  TEST_CASE("the longest timer that there is does not overflow with the worst clock") {
    const sim::Duration longest{std::int64_t{1} << 61};
    CHECK(sim::really_takes(longest, sim::most_clock_tolerance_ppb) > longest);
    CHECK(sim::really_takes(longest, -std::int64_t{sim::most_clock_tolerance_ppb}) < longest);
  }

  TEST_CASE("who has no tolerance has no drift") {
    for (std::uint32_t owner = 0; owner < 20; ++owner) CHECK(sim::clock_drift_ppb(7, owner, 0) == 0);
  }

  TEST_CASE("drifts lie within the tolerance on both sides, and come near its ends") {
    std::int64_t least = 0;
    std::int64_t most = 0;
    double sum = 0;
    constexpr std::uint32_t owners = 2'000;
    for (std::uint32_t owner = 0; owner < owners; ++owner) {
      const std::int64_t drift = sim::clock_drift_ppb(11, owner, sim::quartz_tolerance_ppb);
      REQUIRE(std::abs(drift) <= sim::quartz_tolerance_ppb);
      least = std::min(least, drift);
      most = std::max(most, drift);
      sum += static_cast<double>(drift);
    }
    CHECK(least < -49'000);
    CHECK(most > 49'000);
    // The mean of n even draws over 2a has a standard deviation of a / sqrt(3 n): 645 here; five of them.
    CHECK(std::abs(sum / owners) < 5 * 50'000 / 77.5);
  }

  TEST_CASE("a drift depends on seed and owner alone") {
    std::set<std::int64_t> seen;
    for (std::uint64_t seed = 1; seed <= 30; ++seed) {
      seen.insert(sim::clock_drift_ppb(seed, 5, sim::quartz_tolerance_ppb));
      CHECK(sim::clock_drift_ppb(seed, 5, 50'000) == sim::clock_drift_ppb(seed, 5, 50'000));
    }
    CHECK(seen.size() > 25);
  }
}
