// The random streams: the generator's published answers, the independence of streams, and their
// distributions.
#include "sim/random.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <cstdint>
#include <vector>

#include "tests/support/confidence.h"

namespace {

using drybus::sim::philox;
using drybus::sim::Purpose;
using drybus::sim::Stream;
using drybus::test::chi_square_limit;
using drybus::test::chi_square_of_equal;
using drybus::test::mean_tolerance;

/// Seeds are fixed, so a check that passes goes on passing. A right generator passes each with this
/// probability.
constexpr double confidence = 0.999;

constexpr std::array all_purposes{Purpose::backoff,  Purpose::bit_error, Purpose::collision,
                                  Purpose::arrival,  Purpose::timing,    Purpose::slip,
                                  Purpose::firmware, Purpose::generator};

std::vector<std::uint64_t> draws(Stream stream, std::size_t count) {
  std::vector<std::uint64_t> all(count);
  for (std::uint64_t& draw : all) draw = stream.next();
  return all;
}

struct Moments {
  double mean = 0;
  double variance = 0;
};

template <class Draw>
Moments moments(std::size_t count, Draw draw) {
  double sum = 0;
  double squares = 0;
  for (std::size_t i = 0; i < count; ++i) {
    const double value = draw();
    sum += value;
    squares += value * value;
  }
  const auto n = static_cast<double>(count);
  return {sum / n, squares / n - (sum / n) * (sum / n)};
}

/// Chi-square of pairs of draws on an eight by eight grid: large if one draw foretells the other.
template <class A, class B>
double grid_chi_square(std::size_t pairs, A first, B second) {
  std::array<double, 64> counts{};
  for (std::size_t i = 0; i < pairs; ++i) {
    const std::uint64_t row = first() >> 61;
    const std::uint64_t column = second() >> 61;
    counts[row * 8 + column] += 1;
  }
  return chi_square_of_equal(counts);
}

}  // namespace

// Source: Random123, tests/kat_vectors, "philox4x32 10".
TEST_CASE("the generator gives the published answers of Philox4x32-10") {
  using Block = std::array<std::uint32_t, 4>;
  CHECK(philox({0, 0, 0, 0}, {0, 0}) == Block{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8});
  CHECK(philox({~0U, ~0U, ~0U, ~0U}, {~0U, ~0U}) == Block{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd});
  CHECK(philox({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}) ==
        Block{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1});
}

TEST_CASE("the n-th draw of a stream is a function of seed, purpose, owner and n alone") {
  const std::uint64_t seed = 0x0123456789abcdef;
  const std::uint64_t n = 0x100000002;
  Stream stream{seed, Purpose::slip, 77, n};
  const auto block = philox({2, 1, 6, 77}, {0x89abcdef, 0x01234567});
  CHECK(stream.next() == (block[0] | std::uint64_t{block[1]} << 32));
  CHECK(stream.drawn == n + 1);
  Stream later{seed, Purpose::slip, 77, 5};
  CHECK(later.next() == draws({seed, Purpose::slip, 77}, 6)[5]);
}

TEST_CASE("another owner's or another purpose's draws shift nobody") {
  Stream alone{11, Purpose::backoff, 3};
  Stream among{11, Purpose::backoff, 3};
  for (std::uint32_t i = 0; i < 100; ++i) {
    Stream newcomer{11, Purpose::backoff, 1000 + i};
    Stream other_purpose{11, all_purposes[1 + i % 7], 3, i};
    newcomer.next();
    other_purpose.normal();
    CHECK(alone.next() == among.next());
  }
}

TEST_CASE("streams that differ in seed, purpose or owner share no draw") {
  std::vector<std::uint64_t> all;
  for (const Purpose purpose : all_purposes) {
    for (const std::uint32_t owner : {0U, 1U, 2U, 0xffffffffU}) {
      for (const std::uint64_t seed : {std::uint64_t{0}, std::uint64_t{1}, std::uint64_t{1} << 32}) {
        for (const std::uint64_t draw : draws({seed, purpose, owner}, 100)) all.push_back(draw);
      }
    }
  }
  std::sort(all.begin(), all.end());
  CHECK(all.size() == 9600);
  // 9600 draws of 64 bits coincide by chance with probability 2.5e-12.
  CHECK(std::adjacent_find(all.begin(), all.end()) == all.end());
}

TEST_CASE("neighbouring owners, purposes, seeds and draws do not foretell one another") {
  const double limit = chi_square_limit(64, confidence);
  std::uint32_t owner = 0;
  CHECK(grid_chi_square(
            100'000,
            [&] {
              return draws({7, Purpose::arrival, owner}, 1)[0];
            },
            [&] {
              return draws({7, Purpose::arrival, ++owner}, 1)[0];
            }) < limit);
  Stream first{7, Purpose::backoff, 1};
  Stream second{7, Purpose::bit_error, 1};
  CHECK(grid_chi_square(
            100'000, [&] { return first.next(); }, [&] { return second.next(); }) < limit);
  Stream one_seed{7, Purpose::slip, 1};
  Stream next_seed{8, Purpose::slip, 1};
  CHECK(grid_chi_square(
            100'000, [&] { return one_seed.next(); }, [&] { return next_seed.next(); }) < limit);
  Stream single{7, Purpose::timing, 1};
  CHECK(grid_chi_square(
            100'000, [&] { return single.next(); }, [&] { return single.next(); }) < limit);
}

TEST_CASE("copies of a stream go on alike and are independent") {
  Stream original{5, Purpose::timing, 9};
  original.next();
  Stream copy = original;
  CHECK(copy == original);
  CHECK(copy.next() == original.next());
  copy.next();
  CHECK(copy != original);
  original.next();
  CHECK(copy.normal() == original.normal());
  CHECK(copy == original);
}

TEST_CASE("below gives every result equally often") {
  for (const std::uint64_t n : {2U, 6U, 7U, 10U, 64U, 1000U}) {
    CAPTURE(n);
    Stream stream{n, Purpose::generator, 1};
    std::vector<double> counts(n);
    for (std::size_t i = 0; i < 200'000; ++i) counts.at(stream.below(n)) += 1;
    CHECK(chi_square_of_equal(counts) < chi_square_limit(n, confidence));
  }
}

TEST_CASE("below has no modulo bias even where a plain remainder would double the low results") {
  const std::uint64_t third = std::uint64_t{1} << 62;
  Stream stream{3, Purpose::generator, 1};
  std::array<double, 3> counts{};
  for (std::size_t i = 0; i < 30'000; ++i) counts.at(stream.below(3 * third) / third) += 1;
  CHECK(chi_square_of_equal(counts) < chi_square_limit(3, confidence));
  CHECK(stream.drawn > 30'000);  // it did reject some
}

TEST_CASE("below one is always nought") {
  Stream stream{3, Purpose::generator, 1};
  for (int i = 0; i < 100; ++i) CHECK(stream.below(1) == 0);
}

TEST_CASE("a chance of nought never comes, certainty always, and a quarter a quarter of the time") {
  Stream stream{4, Purpose::bit_error, 1};
  double quarter = 0;
  for (int i = 0; i < 100'000; ++i) {
    CHECK_FALSE(stream.chance_ppb(0));
    CHECK(stream.chance_ppb(1'000'000'000));
    if (stream.chance_ppb(250'000'000)) quarter += 1;
  }
  CHECK(std::abs(quarter / 1e5 - 0.25) < mean_tolerance(std::sqrt(0.25 * 0.75), 1e5, confidence));
}

TEST_CASE("a uniform draw is never nought and never one, at the ends of the generator's range") {
  // Philox is a bijection, so that a counter can be found for any output: run backwards from all ones and all
  // noughts.
  Stream largest{0, Purpose{0x94e383d7}, 0x8a8e56b6, 0x95d63ee08131b39a};
  Stream smallest{0, Purpose{0xd942a9da}, 0xd9f19ce4, 0x58dd724a86d9ccce};
  REQUIRE(Stream{largest}.next() == ~std::uint64_t{0});
  REQUIRE(Stream{smallest}.next() == 0);
  CHECK(largest.uniform() < 1.0);
  CHECK(Stream{smallest}.uniform() > 0.0);
  CHECK(std::isfinite(Stream{smallest}.exponential(1.0)));
  CHECK(std::isfinite(smallest.normal()));
}

TEST_CASE("uniform draws are spread evenly over (0, 1)") {
  Stream stream{5, Purpose::timing, 1};
  std::vector<double> counts(100);
  const std::size_t count = 400'000;
  const Moments found = moments(count, [&] {
    const double value = stream.uniform();
    counts.at(static_cast<std::size_t>(value * 100)) += 1;
    return value;
  });
  CHECK(chi_square_of_equal(counts) < chi_square_limit(100, confidence));
  CHECK(std::abs(found.mean - 0.5) < mean_tolerance(std::sqrt(1.0 / 12), count, confidence));
}

// Mean, variance and tail from the definition of the exponential distribution: m, m^2, P(X > 3m) = e^-3.
TEST_CASE("exponential draws have the mean, the variance and the tail that they should") {
  Stream stream{6, Purpose::arrival, 1};
  const std::size_t count = 400'000;
  double tail = 0;
  const Moments found = moments(count, [&] {
    const double value = stream.exponential(2.5);
    if (value > 7.5) tail += 1;
    return value;
  });
  CHECK(std::abs(found.mean - 2.5) < mean_tolerance(2.5, count, confidence));
  // The fourth central moment is 9 m^4, so the sample variance has standard deviation m^2 sqrt(8 / n).
  CHECK(std::abs(found.variance - 6.25) < mean_tolerance(6.25 * std::sqrt(8.0), count, confidence));
  const double expected = std::exp(-3.0);
  CHECK(std::abs(tail / count - expected) <
        mean_tolerance(std::sqrt(expected * (1 - expected)), count, confidence));
}

// P(|Z| > 1.959964) = 0.05: the two-sided five per cent point of the normal distribution.
TEST_CASE("normal draws have mean nought, variance one and one in twenty beyond 1.96") {
  Stream stream{7, Purpose::timing, 1};
  const std::size_t count = 400'000;
  double beyond = 0;
  const Moments found = moments(count, [&] {
    const double value = stream.normal();
    if (std::abs(value) > 1.959964) beyond += 1;
    return value;
  });
  CHECK(std::abs(found.mean) < mean_tolerance(1, count, confidence));
  CHECK(std::abs(found.variance - 1) < mean_tolerance(std::sqrt(2.0), count, confidence));
  CHECK(std::abs(beyond / count - 0.05) < mean_tolerance(std::sqrt(0.05 * 0.95), count, confidence));
}

TEST_CASE("a thousand owners' arrivals together are a Poisson process") {
  // Counts per unit of time of 1000 streams with mean interval 250 each: mean 4, variance 4.
  const std::size_t units = 10'000;
  std::vector<double> counts(units);
  for (std::uint32_t owner = 0; owner < 1000; ++owner) {
    Stream stream{8, Purpose::arrival, owner};
    double at = stream.exponential(250);
    while (at < units) {
      counts[static_cast<std::size_t>(at)] += 1;
      at += stream.exponential(250);
    }
  }
  std::size_t next = 0;
  const Moments found = moments(units, [&] { return counts[next++]; });
  CHECK(std::abs(found.mean - 4) < mean_tolerance(2, units, confidence));
  // The fourth central moment of Poisson(4) is 4 + 3 * 16, so the sample variance has deviation sqrt(36 / n).
  CHECK(std::abs(found.variance - 4) < mean_tolerance(6, units, confidence));
}

TEST_CASE("an exponential draw is the logarithm of the uniform one, to the last places") {
  Stream stream{9, Purpose::arrival, 1};
  double worst = 0;
  for (int i = 0; i < 100'000; ++i) {
    Stream twin = stream;
    const double expected = -std::log(twin.uniform());
    worst = std::max(worst, std::abs(stream.exponential(1) - expected) / expected);
  }
  CHECK(worst < 1e-15);
}

// Source: the definition of the log-normal distribution: the logarithm is normal about that of the median.
TEST_CASE("log-normal draws lie about their median, as widely as their logarithm is told to") {
  Stream stream{11, Purpose::timing, 1};
  const std::size_t count = 200'000;
  double below_median = 0;
  double worst = 0;
  const Moments logarithm = moments(count, [&] {
    Stream twin = stream;
    const double expected = 0.7 * std::exp(0.5 * twin.normal());
    const double value = stream.lognormal(0.7, 0.5);
    worst = std::max(worst, std::abs(value - expected) / expected);
    if (value < 0.7) below_median += 1;
    return std::log(value / 0.7);
  });
  CHECK(worst < 2e-15);
  CHECK(std::abs(below_median / count - 0.5) < mean_tolerance(0.5, count, confidence));
  CHECK(std::abs(logarithm.mean) < mean_tolerance(0.5, count, confidence));
  CHECK(std::abs(logarithm.variance - 0.25) < mean_tolerance(0.25 * std::sqrt(2.0), count, confidence));
}

// Pinned; the same from GCC 12 and Clang 14, unoptimised and optimised, with fused multiply-add in the
// processor and without. The C library's logarithm and cosine would not do: they differ in the last bit
// between processors.
TEST_CASE("real draws are the same to the last bit everywhere") {
  Stream stream{10, Purpose::timing, 1};
  std::uint64_t bits = 0;
  for (int i = 0; i < 100'000; ++i) {
    bits = bits * 1'099'511'628'211U + std::bit_cast<std::uint64_t>(stream.exponential(2.5));
    bits = bits * 1'099'511'628'211U + std::bit_cast<std::uint64_t>(stream.normal());
    bits = bits * 1'099'511'628'211U + std::bit_cast<std::uint64_t>(stream.lognormal(0.7, 0.5));
  }
  CHECK(bits == 0x47268b7e2fc3d245);
}
