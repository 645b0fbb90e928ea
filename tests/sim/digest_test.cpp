// The fingerprint of a run: the hash's published answers, and what must and must not change it.
#include "sim/digest.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <set>
#include <span>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace {

using drybus::sim::Digest;
using drybus::sim::Fingerprint;
using drybus::sim::hash_bytes;
using drybus::sim::stable_name;

/// The bytes that xxHash's own sanity test hashes.
std::vector<std::byte> sanity_bytes(std::size_t count) {
  std::vector<std::byte> bytes(count);
  std::uint64_t generator = 2654435761U;
  for (std::byte& byte : bytes) {
    byte = static_cast<std::byte>(generator >> 56);
    generator *= 11400714785074694797U;
  }
  return bytes;
}

template <class... Values>
Fingerprint of(Values... values) {
  Digest digest;
  (digest.add(values), ...);
  return digest.value();
}

std::uint64_t number(std::uint64_t value) {
  return value;
}

}  // namespace

TEST_CASE("numbers that share a word may be wide, and small ones add nothing") {
  const auto of_narrow = [](std::uint32_t a, std::uint32_t b) {
    Digest digest;
    const std::uint64_t low = digest.narrow(a);
    digest.add(low | digest.narrow(b, 16));
    return digest.value();
  };
  CHECK(of_narrow(7, 9) == of(number(7 | 9 << 16)));
  CHECK(of_narrow(0xfffe, 0) == of(number(0xfffe)));
  const std::vector<std::uint32_t> numbers{0, 7, 0xfffe, 0xffff, 0x10000, 0x10007, 0xffff'ffff};
  std::set<Fingerprint> seen;
  for (const std::uint32_t a : numbers) {
    for (const std::uint32_t b : numbers) CHECK(seen.insert(of_narrow(a, b)).second);
  }
}

// Source: xxHash, tests/sanity_test_vectors.h (XSUM_XXH128_testdata, seed 0).
TEST_CASE("a digest gives the published answers of XXH3 with 128 bits") {
  struct Answer {
    std::size_t size;
    std::uint64_t low;
    std::uint64_t high;
  };
  constexpr Answer answers[] = {
      {0, 0x6001c324468d497f, 0x99aa06d3014798d8},  {1, 0xc44bdff4074eecdb, 0xa6cd5e9392000f6a},
      {6, 0x3e7039bdda43cfc6, 0x082afe0b8162d12a},  {12, 0x061a192713f69ad9, 0x6e3efd8fc7802b18},
      {24, 0x1e7044d28b1b901d, 0x0ce966e4678d3761}, {48, 0xf942219aed80f67b, 0xa002ac4e5478227e},
      {81, 0x5e8bafb9f95fb803, 0x4952f58181ab0042}, {222, 0xf1aebd597cec6b3a, 0x337e09641b948717},
      {403, 0xcdeb804d65c6dea4, 0x1b6de21e332dd73d}};
  for (const Answer& answer : answers) {
    CAPTURE(answer.size);
    const std::vector<std::byte> bytes = sanity_bytes(answer.size);
    Digest digest;
    digest.add_bytes(bytes);
    CHECK(digest.value() == Fingerprint{answer.high, answer.low});
  }
}

// Source: xxHash, tests/sanity_test_vectors.h (XSUM_XXH3_testdata, XSUM_XXH32_testdata).
TEST_CASE("table hashes and stable names give the published answers of XXH3 and XXH32") {
  CHECK(hash_bytes({}) == 0x2d06800538d394c2);
  CHECK(hash_bytes(sanity_bytes(195)) == 0xcd94217ee362ec3a);
  CHECK(hash_bytes(sanity_bytes(403)) == 0xcdeb804d65c6dea4);
  CHECK(hash_bytes(sanity_bytes(403), 11400714785074694797U) == 0x6259f6ecfd6443fd);
  CHECK(stable_name("") == 0x02cc5d05);
}

TEST_CASE("pieces make the same digest as the whole") {
  const std::vector<std::byte> bytes = sanity_bytes(1000);
  Digest whole;
  whole.add_bytes(bytes);
  for (const std::size_t piece : {1U, 7U, 64U, 300U}) {
    Digest pieces;
    for (std::size_t at = 0; at < bytes.size(); at += piece) {
      pieces.add_bytes(std::span{bytes}.subspan(at, std::min(piece, bytes.size() - at)));
    }
    CHECK(pieces.value() == whole.value());
  }
}

TEST_CASE("a number is written in eight bytes, the least first") {
  Digest bytes;
  for (const int value : {8, 7, 6, 5, 4, 3, 2, 1}) {
    const auto byte = static_cast<std::byte>(value);
    bytes.add_bytes(std::span{&byte, 1});
  }
  CHECK(of(number(0x0102030405060708)) == bytes.value());
}

TEST_CASE("order matters") {
  CHECK(of(number(1), number(2)) != of(number(2), number(1)));
  CHECK(of(std::string_view{"a"}, std::string_view{"b"}) != of(std::string_view{"b"}, std::string_view{"a"}));
}

TEST_CASE("texts carry their length, so that where one ends and the next begins matters") {
  using Text = std::string_view;
  CHECK(of(Text{"ab"}, Text{"c"}) != of(Text{"a"}, Text{"bc"}));
  CHECK(of(Text{"abc"}) != of(Text{"abc"}, Text{""}));
  CHECK(of(Text{""}) != of());
}

TEST_CASE("any single bit changes the digest") {
  const Fingerprint nought = of(number(0));
  for (unsigned bit = 0; bit < 64; ++bit) CHECK(of(std::uint64_t{1} << bit) != nought);
}

TEST_CASE("a digest can be read in between and goes on") {
  Digest digest;
  digest.add(number(1));
  CHECK(digest.value() == of(number(1)));
  CHECK(digest.value() == of(number(1)));
  digest.add(number(2));
  CHECK(digest.value() == of(number(1), number(2)));
  const Digest moved = std::move(digest);
  CHECK(moved.value() == of(number(1), number(2)));
}

TEST_CASE("a fingerprint shows as 32 lower-case hexadecimal digits, the high half first") {
  CHECK(Fingerprint{}.hex() == "00000000000000000000000000000000");
  CHECK(Fingerprint{0x0123456789abcdef, 0xfedcba9876543210}.hex() == "0123456789abcdeffedcba9876543210");
  CHECK(of().hex() == "99aa06d3014798d86001c324468d497f");
}

// Pinned; computed apart from the project with the shared library of xxHash 0.8.1.
TEST_CASE("the same values give the same digest on every run and every machine") {
  const Fingerprint first = of(number(42), std::string_view{"hall"}, ~std::uint64_t{0});
  CHECK(first == of(number(42), std::string_view{"hall"}, ~std::uint64_t{0}));
  CHECK(first.hex() == "defb373b7a9a1ecd073e056572b35199");
  CHECK(stable_name("P1") == 0x6e87dcc8);
  CHECK(stable_name("P1") != stable_name("P2"));
}
