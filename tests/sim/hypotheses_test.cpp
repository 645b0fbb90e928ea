// The inference that diagnosis rests on, against worked examples from elsewhere and against engines of another kind.
#include "sim/hypotheses.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <map>
#include <optional>

#include "sim/measurement.h"
#include "sim/random.h"
#include "tests/support/faulty_parts.h"
#include "tests/support/seeds.h"

namespace {

using namespace drybus;
using namespace drybus::sim;
using tests::FaultyParts;
using tests::minimal_diagnoses;

// --- the polybox (de Kleer and Williams, "Diagnosing multiple faults", Artificial Intelligence 32, 1987; from memory,
// and recomputed here) ---

/// X = A*C, Y = B*D, Z = C*E; F = X+Y, G = Y+Z. Inputs 3, 2, 2, 3, 3; F is seen to be 10 (not 12), G to be 12.
enum : PartId { M1, M2, M3, A1, A2 };

bool faulty(const PartSet& set, PartId part) {
  return std::find(set.begin(), set.end(), part) != set.end();
}

struct Values {
  std::optional<int> x, y, z;  ///< nothing: some value or other
};

/// What the inner values have to be when just these parts are faulty; nothing when it cannot be.
std::optional<Values> polybox(const PartSet& set) {
  constexpr int f = 10, g = 12;
  Values v;
  const auto settle = [](std::optional<int>& value, int known) {
    if (value && *value != known) return false;
    value = known;
    return true;
  };
  bool fine = true;
  if (!faulty(set, M1)) fine = fine && settle(v.x, 6);
  if (!faulty(set, M2)) fine = fine && settle(v.y, 6);
  if (!faulty(set, M3)) fine = fine && settle(v.z, 6);
  // Twice: what one adder settles the other may build on.
  for (int round = 0; round < 2; ++round) {
    if (!faulty(set, A1)) {
      if (v.x) fine = fine && settle(v.y, f - *v.x);
      if (v.y) fine = fine && settle(v.x, f - *v.y);
    }
    if (!faulty(set, A2)) {
      if (v.y) fine = fine && settle(v.z, g - *v.y);
      if (v.z) fine = fine && settle(v.y, g - *v.z);
    }
  }
  return fine ? std::optional{v} : std::nullopt;
}

TEST_CASE("the polybox has the four minimal diagnoses of de Kleer and Williams") {
  FaultyParts space{5, 0.01, [](const PartSet& set) { return polybox(set).has_value(); }};
  CHECK(minimal_diagnoses(space) == std::set<PartSet>{{A1}, {M1}, {M2, A2}, {M2, M3}});
}

/// The forecast of measuring one inner value, over all diagnoses of the polybox up to three faults.
double polybox_bits(std::optional<int> Values::*inner) {
  FaultyParts space{5, 0.01, [](const PartSet& set) { return polybox(set).has_value(); }};
  ExploreLimits limits;
  limits.least_ratio = 1e-12;
  std::vector<double> weights;
  std::vector<std::uint32_t> groups, outcomes;
  std::map<int, std::uint32_t> known;
  for (const WeighedSet& each : explore(space, limits).sets) {
    if (each.log_fit != 0) continue;
    weights.push_back(std::exp(each.log_weight));
    groups.push_back(static_cast<std::uint32_t>(groups.size()));
    const auto value = (*polybox(each.parts)).*inner;
    outcomes.push_back(value ? known.emplace(*value, static_cast<std::uint32_t>(known.size())).first->second
                             : any_outcome);
  }
  return information_bits(
      {weights, groups, outcomes, static_cast<std::uint32_t>(std::max<std::size_t>(2, known.size())), 0});
}

TEST_CASE("the polybox is best measured next at X, as minimum entropy has it") {
  const double x = polybox_bits(&Values::x);
  CHECK(x > polybox_bits(&Values::y));
  CHECK(x > polybox_bits(&Values::z));
  CHECK(x > 0.9);  // nearly a whole bit: {A1} and {M1} are alike in probability and are told apart
}

TEST_CASE("the polybox with X measured to be 4 leaves M1 alone") {
  FaultyParts space{5, 0.01, [](const PartSet& set) {
                      const auto values = polybox(set);
                      return values && values->x.value_or(4) == 4;
                    }};
  const auto minimal = minimal_diagnoses(space);
  REQUIRE_FALSE(minimal.empty());
  CHECK(*std::min_element(minimal.begin(), minimal.end(), [](const PartSet& a, const PartSet& b) {
    return a.size() < b.size();
  }) == PartSet{M1});
  CHECK(std::count_if(minimal.begin(), minimal.end(), [](const PartSet& set) { return set.size() == 1; }) ==
        1);
}

TEST_CASE("where the number of faults has chances of its own, which ones goes by their odds") {
  FaultyParts space{5, 0.01, [](const PartSet&) { return true; }};
  ExploreLimits limits;
  limits.most_parts = 2;
  limits.least_ratio = 1e-12;
  limits.chance_of_size = {0.1, 0.6, 0.3};
  const Exploration found = explore(space, limits);
  std::array<double, 3> mass{};
  for (const WeighedSet& each : found.sets) mass[each.parts.size()] += std::exp(each.log_weight);
  CHECK(mass[0] == doctest::Approx(0.1));
  CHECK(mass[1] == doctest::Approx(0.6));  // five alike
  CHECK(mass[2] == doctest::Approx(0.3));  // ten alike
  CHECK(found.explored == doctest::Approx(1.0));
}

// --- the full adder (Reiter, "A theory of diagnosis from first principles", Artificial Intelligence 32, 1987; from
// memory, and recomputed here) ---

enum : PartId { X1, X2, N1, N2, O1 };  // Reiter's A1 and A2 are N1 and N2 here

/// Inputs 1, 0, 1; sum seen 1, carry seen 0. Whether some outputs of the faulty gates make that so.
bool adder_consistent(const PartSet& set) {
  for (unsigned free = 0; free < 32; ++free) {
    const auto gate = [&](PartId part, bool right) {
      return faulty(set, part) ? (free >> part & 1u) != 0 : right;
    };
    const bool a = true, b = false, carry_in = true;
    const bool half = gate(X1, a != b);
    const bool sum = gate(X2, half != carry_in);
    const bool both = gate(N1, a && b);
    const bool passed = gate(N2, half && carry_in);
    const bool carry = gate(O1, both || passed);
    if (sum && !carry) return true;
  }
  return false;
}

TEST_CASE("the full adder has the three diagnoses of Reiter") {
  FaultyParts space{5, 0.01, adder_consistent};
  CHECK(minimal_diagnoses(space) == std::set<PartSet>{{X1}, {X2, N2}, {X2, O1}});
}

// --- ISCAS-85 c17 (Brglez and Fujiwara, 1985): six NAND gates, five inputs, two outputs; the netlist from memory ---

/// Values of the eleven nets under inputs 1, 2, 3, 6, 7, with some nets stuck. Nets are numbered 0 to 10 in the order
/// 1, 2, 3, 6, 7, 10, 11, 16, 19, 22, 23. Part 2n: net n stuck at 0; part 2n+1: at 1.
std::array<int, 11> c17(unsigned inputs, const PartSet& stuck) {
  std::array<int, 11> net{};
  const auto settle = [&](std::size_t n, bool value) {
    net[n] = value;
    for (const PartId part : stuck) {
      if (part / 2 == n) net[n] = part % 2 != 0;
    }
  };
  for (std::size_t i = 0; i < 5; ++i) settle(i, (inputs >> i & 1u) != 0);
  const auto nand = [&](std::size_t out, std::size_t a, std::size_t b) { settle(out, !(net[a] && net[b])); };
  nand(5, 0, 2);   // 10 = 1, 3
  nand(6, 2, 3);   // 11 = 3, 6
  nand(7, 1, 6);   // 16 = 2, 11
  nand(8, 6, 4);   // 19 = 11, 7
  nand(9, 5, 7);   // 22 = 10, 16
  nand(10, 7, 8);  // 23 = 16, 19
  return net;
}

/// The second engine: all eleven nets at once for all 32 input words, as bits of a word, by its own equations.
std::pair<std::uint32_t, std::uint32_t> c17_in_words(const std::map<std::size_t, bool>& stuck) {
  std::array<std::uint32_t, 11> net{};
  const auto held = [&](std::size_t n, std::uint32_t word) {
    const auto at = stuck.find(n);
    return at == stuck.end() ? word : at->second ? ~0u : 0u;
  };
  for (std::size_t i = 0; i < 5; ++i) {
    std::uint32_t word = 0;
    for (std::uint32_t inputs = 0; inputs < 32; ++inputs) word |= (inputs >> i & 1u) << inputs;
    net[i] = held(i, word);
  }
  net[5] = held(5, ~net[0] | ~net[2]);
  net[6] = held(6, ~net[2] | ~net[3]);
  net[7] = held(7, ~net[1] | ~net[6]);
  net[8] = held(8, ~net[6] | ~net[4]);
  net[9] = held(9, ~net[5] | ~net[7]);
  net[10] = held(10, ~net[7] | ~net[8]);
  return {net[9], net[10]};
}

TEST_CASE("c17 without faults is as its equations have it") {
  for (unsigned inputs = 0; inputs < 32; ++inputs) {
    const auto net = c17(inputs, {});
    const auto [out22, out23] = c17_in_words({});
    CHECK(net[9] == ((out22 >> inputs & 1u) != 0));
    CHECK(net[10] == ((out23 >> inputs & 1u) != 0));
  }
}

TEST_CASE("c17 with one or two stuck nets has just the diagnoses that trying all of them has") {
  for (const std::uint64_t seed : test::seeds(60)) {
    INFO(test::replay(seed, "c17 with one or two stuck nets*"));
    Stream random{seed, Purpose::generator, 17, 0};
    // The truth, and the outputs under six input words.
    std::map<std::size_t, bool> truth;
    const std::size_t faults = 1 + random.below(2);
    while (truth.size() < faults) truth[random.below(11)] = random.below(2) != 0;
    std::vector<unsigned> words(6);
    for (unsigned& word : words) word = static_cast<unsigned>(random.below(32));
    const auto seen = c17_in_words(truth);
    const std::uint32_t seen22 = seen.first, seen23 = seen.second;

    FaultyParts space{22, 0.02, [&](const PartSet& set) {
                        for (std::size_t i = 1; i < set.size(); ++i) {
                          if (set[i] / 2 == set[i - 1] / 2) return false;  // a net is stuck at one value only
                        }
                        return std::all_of(words.begin(), words.end(), [&](unsigned inputs) {
                          const auto net = c17(inputs, set);
                          return net[9] == ((seen22 >> inputs & 1u) != 0) &&
                                 net[10] == ((seen23 >> inputs & 1u) != 0);
                        });
                      }};

    std::uint32_t tried = 0;
    for (const unsigned word : words) tried |= 1u << word;
    std::vector<PartSet> all;
    const auto judge = [&](const PartSet& set) {
      std::map<std::size_t, bool> stuck;
      for (const PartId part : set) stuck[part / 2] = part % 2 != 0;
      if (stuck.size() != set.size()) return;
      const auto [out22, out23] = c17_in_words(stuck);
      if (((out22 ^ seen22) & tried) == 0 && ((out23 ^ seen23) & tried) == 0) all.push_back(set);
    };
    judge({});
    for (PartId a = 0; a < 22; ++a) {
      judge({a});
      for (PartId b = a + 1; b < 22; ++b) judge({a, b});
    }
    const auto expected = minimal_sets(all);
    CHECK(minimal_diagnoses(space, 2) == std::set<PartSet>(expected.begin(), expected.end()));
  }
}

// --- the enumeration itself ---

TEST_CASE("sets come in the order of their weight, and the share explored is that of all of them") {
  FaultyParts space{6, 0.1, [](const PartSet&) { return true; }};
  ExploreLimits limits;
  limits.most_parts = 6;
  limits.least_ratio = 1e-30;
  const Exploration all = explore(space, limits);
  CHECK(all.sets.size() == 64);
  CHECK(all.complete);
  CHECK(all.explored == doctest::Approx(1.0));
  for (std::size_t i = 1; i < all.sets.size(); ++i)
    CHECK(all.sets[i - 1].log_weight >= all.sets[i].log_weight);

  limits.most_parts = 1;
  // Binomial: none or one of six.
  CHECK(explore(space, limits).explored == doctest::Approx(std::pow(0.9, 6) + 6 * 0.1 * std::pow(0.9, 5)));
}

TEST_CASE("an exploration that is stopped says how far it came") {
  FaultyParts space{40, 0.05, [](const PartSet&) { return true; }};
  ExploreLimits limits;
  limits.most_tried = 30;
  const Exploration part = explore(space, limits);
  CHECK_FALSE(part.complete);
  CHECK(part.tried == 1 + 15 + 7);  // at each size half of what is left; three parts would weigh too little
  CHECK(part.explored > 0.1);
  CHECK(part.explored < 0.5);
}

/// Three parts; what the first two do together can be told only from the second.
class TwoViews final : public HypothesisSpace {
 public:
  [[nodiscard]] std::size_t part_count() const override { return 3; }
  [[nodiscard]] double log_odds(PartId) const override { return -3; }
  [[nodiscard]] double log_fit(const PartSet& set, double) override { return set == PartSet{0, 1} ? 0 : -10; }
  void extensions(const PartSet& set, double, std::vector<Extension>& into) override {
    if (set.empty()) into = {{0, 0}, {1, 0}, {2, 0}};
    if (set == PartSet{0}) into = {{1, -9}, {2, -5}};
    if (set == PartSet{1}) into = {{0, -0.5}, {2, -5}};
    if (set == PartSet{2}) into = {{0, -5}, {1, -5}};
  }
};

TEST_CASE("of two views of a set the more promising one says when it is tried") {
  TwoViews space;
  ExploreLimits limits;
  limits.most_parts = 2;
  limits.least_ratio = 1e-9;
  limits.most_tried = 6;  // none, three single ones, two pairs
  const Exploration found = explore(space, limits);
  CHECK(found.tried == 6);
  REQUIRE_FALSE(found.sets.empty());
  CHECK(found.sets.front().parts == PartSet{0, 1});
}

}  // namespace
