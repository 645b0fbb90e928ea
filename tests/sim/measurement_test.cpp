#include "sim/measurement.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <numeric>
#include <string_view>

#include "sim/random.h"
#include "tests/support/seeds.h"

namespace {

using namespace drybus;
using namespace drybus::sim;

// The fourteen days of Mitchell, Machine Learning (1997), chapter 3: whether tennis is played.
struct Day {
  std::array<std::string_view, 4> of;  // outlook, temperature, humidity, wind
  bool played;
};
constexpr std::array<Day, 14> days = {{
    {{"sunny", "hot", "high", "weak"}, false},
    {{"sunny", "hot", "high", "strong"}, false},
    {{"overcast", "hot", "high", "weak"}, true},
    {{"rain", "mild", "high", "weak"}, true},
    {{"rain", "cool", "normal", "weak"}, true},
    {{"rain", "cool", "normal", "strong"}, false},
    {{"overcast", "cool", "normal", "strong"}, true},
    {{"sunny", "mild", "high", "weak"}, false},
    {{"sunny", "cool", "normal", "weak"}, true},
    {{"rain", "mild", "normal", "weak"}, true},
    {{"sunny", "mild", "normal", "strong"}, true},
    {{"overcast", "mild", "high", "strong"}, true},
    {{"overcast", "hot", "normal", "weak"}, true},
    {{"rain", "mild", "high", "strong"}, false},
}};

double gain(std::size_t attribute) {
  std::vector<double> weights(days.size(), 1.0 / static_cast<double>(days.size()));
  std::vector<std::uint32_t> groups, outcomes;
  std::vector<std::string_view> values;
  for (const Day& day : days) {
    groups.push_back(day.played ? 1 : 0);
    auto found = std::find(values.begin(), values.end(), day.of[attribute]);
    if (found == values.end()) found = values.insert(values.end(), day.of[attribute]);
    outcomes.push_back(static_cast<std::uint32_t>(found - values.begin()));
  }
  return information_bits({weights, groups, outcomes, static_cast<std::uint32_t>(values.size()), 0});
}

TEST_CASE("the gains of the fourteen days are those of Mitchell's table") {
  CHECK(gain(0) == doctest::Approx(0.2467).epsilon(0.001));
  CHECK(gain(1) == doctest::Approx(0.0292).epsilon(0.002));
  CHECK(gain(2) == doctest::Approx(0.1518).epsilon(0.001));
  CHECK(gain(3) == doctest::Approx(0.0481).epsilon(0.002));
  const std::array played{9.0, 5.0};
  CHECK(entropy_bits(played) == doctest::Approx(0.940).epsilon(0.001));
}

TEST_CASE("eight that are equally likely are three bits") {
  const std::array<double, 8> equal{1, 1, 1, 1, 1, 1, 1, 1};
  CHECK(entropy_bits(equal) == doctest::Approx(3));
}

TEST_CASE("a measurement whose outcome is always wrongly or rightly reported by chance tells nothing") {
  const std::array weights{0.5, 0.5};
  const std::array<std::uint32_t, 2> groups{0, 1};
  const std::array<std::uint32_t, 2> outcomes{0, 1};
  CHECK(information_bits({weights, groups, outcomes, 2, 0}) == doctest::Approx(1));
  CHECK(information_bits({weights, groups, outcomes, 2, 0.5}) == doctest::Approx(0));
  const std::array<std::uint32_t, 2> silent{any_outcome, any_outcome};
  CHECK(information_bits({weights, groups, silent, 2, 0}) == doctest::Approx(0));
}

TEST_CASE("after an outcome the weights are those of Bayes") {
  const std::array weights{0.3, 0.7};
  const std::array<std::uint32_t, 2> groups{0, 1};
  const std::array<std::uint32_t, 2> outcomes{0, 1};
  const Forecast forecast{weights, groups, outcomes, 2, 0.1};
  const auto after = after_outcome(forecast, 0);
  CHECK(after[0] == doctest::Approx(0.27));
  CHECK(after[1] == doctest::Approx(0.07));
  CHECK(chance_of(forecast, 0) == doctest::Approx(0.34));
}

// Heckerman, Breese and Rommelse, "Decision-theoretic troubleshooting", Communications of the ACM 38, 1995: with one fault
// and independent costs no order is cheaper than that by chance over cost. The second engine tries all of them.
TEST_CASE("no order of repairs is cheaper than that by chance over cost, in 2,000 cases") {
  std::size_t worse = 0;
  for (const std::uint64_t seed : test::seeds(2'000)) {
    INFO(test::replay(seed, "no order of repairs is cheaper*"));
    Stream random{seed, Purpose::generator, 95, 0};
    std::vector<Repair> repairs(2 + random.below(6));
    double all = 0;
    for (Repair& each : repairs) all += each.chance = random.uniform();
    for (Repair& each : repairs) {
      each.chance /= all;
      each.cost = 0.1 + 10 * random.uniform();
    }
    // By hand: what is paid until the culprit was tried, over all culprits.
    const auto cost_of = [&](const std::vector<std::size_t>& order) {
      double expected = 0;
      for (std::size_t culprit = 0; culprit < repairs.size(); ++culprit) {
        double paid = 0;
        for (const std::size_t each : order) {
          paid += repairs[each].cost;
          if (each == culprit) break;
        }
        expected += repairs[culprit].chance * paid;
      }
      return expected;
    };
    std::vector<std::size_t> order(repairs.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    double least = cost_of(order);
    while (std::next_permutation(order.begin(), order.end())) least = std::min(least, cost_of(order));
    const auto ours = repair_order(repairs);
    CHECK(expected_cost(repairs, ours) == doctest::Approx(cost_of(ours)));
    const bool fine = cost_of(ours) <= least * (1 + 1e-12);
    CHECK(fine);
    worse += fine ? 0 : 1;
  }
  CHECK(worse == 0);
}

}  // namespace
