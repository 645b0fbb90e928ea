#include "sim/state_set.h"

#include <doctest/doctest.h>

#include <array>
#include <cstring>
#include <set>
#include <stdexcept>
#include <string>
#include <vector>

#include "sim/random.h"
#include "sim/search_tree.h"
#include "tests/support/seeds.h"

using namespace drybus::sim;

namespace {

constexpr std::size_t state_size = 12;

/// Few enough that many come twice.
std::vector<std::byte> some_key(Stream& stream, std::size_t length) {
  std::vector<std::byte> key(length);
  const std::uint64_t which = stream.below(20'000);
  std::memcpy(key.data(), &which, std::min(length, sizeof which));
  return key;
}

/// Up to 70 parts, of which some are empty and each has few forms.
std::vector<std::byte> some_key_in_parts(Stream& stream) {
  std::vector<std::byte> key;
  const std::uint64_t parts = stream.below(40) == 0 ? 60 + stream.below(10) : 1 + stream.below(3);
  for (std::uint64_t i = 0; i < parts; ++i) {
    std::vector<std::byte> part(stream.below(8) == 0 ? stream.below(300) : 4);
    const std::uint64_t which = stream.below(30);
    std::memcpy(part.data(), &which, std::min(part.size(), sizeof which));
    add_part(key, part);
  }
  return key;
}

/// Inserts the same keys in a set and in its twin from the standard library, a tree, and compares what both
/// say.
template <class Set, class Length>
void compare_with_twin(std::uint64_t seed, Length&& length) {
  Stream stream{seed};
  Set set;
  std::set<std::string> twin;
  for (int i = 0; i < 60'000; ++i) {
    const std::vector<std::byte> key = some_key(stream, length(stream));
    const std::uint64_t hash = hash_bytes(key);
    set.prefetch(hash);
    set.prefetch_more(hash);
    const std::string text{reinterpret_cast<const char*>(key.data()), key.size()};
    REQUIRE(set.insert(hash, key) == twin.insert(text).second);
    REQUIRE(set.size() == twin.size());
  }
}

/// Bytes for each of `count` different states.
template <class Set>
double bytes_each(std::uint32_t count, std::size_t size) {
  Set set;
  std::vector<std::byte> key(size);
  for (std::uint32_t i = 0; i < count; ++i) {
    std::memcpy(key.data(), &i, sizeof i);
    set.insert(hash_bytes(key), key);
  }
  return static_cast<double>(set.memory_bytes()) / count;
}

}  // namespace

TEST_SUITE("state set") {
  TEST_CASE("each set tells new keys from known ones as a std::set does") {
    for (const std::uint64_t seed : drybus::test::seeds(3)) {
      INFO(drybus::test::replay(seed, "each set tells new keys from known ones as a std::set does"));
      compare_with_twin<StateSet<state_size>>(seed, [](Stream&) { return state_size; });
      compare_with_twin<KeySet>(seed, [](Stream& stream) { return 4 + stream.below(200); });
      compare_with_twin<FingerprintSet>(seed, [](Stream& stream) { return 4 + stream.below(200); });
    }
  }

  TEST_CASE("states can be read again in the order in which they were first met") {
    StateSet<state_size> set;
    std::vector<std::byte> key(state_size);
    for (std::uint32_t i = 0; i < 50'000; ++i) {
      const std::uint32_t which = i % 40'000;
      std::memcpy(key.data(), &which, sizeof which);
      set.insert(hash_bytes(key), key);
    }
    REQUIRE(set.size() == 40'000);
    bool in_order = true;
    for (std::uint32_t i = 0; i < 40'000; ++i)
      in_order = in_order && std::memcmp(set[i].data(), &i, sizeof i) == 0;
    CHECK(in_order);
  }

  TEST_CASE("keys that differ are kept apart even if their hashes are the same") {
    const std::array<std::byte, state_size> one{std::byte{1}};
    const std::array<std::byte, state_size> other{std::byte{2}};
    StateSet<state_size> states;
    KeySet keys;
    FingerprintSet prints;
    CHECK(states.insert(7, one));
    CHECK(states.insert(7, other));
    CHECK_FALSE(states.insert(7, other));
    CHECK(keys.insert(7, one));
    CHECK(keys.insert(7, other));
    CHECK_FALSE(keys.insert(7, one));
    CHECK(prints.insert(7, one));
    CHECK_FALSE(prints.insert(7, other));  // that is what a fingerprint gives away
  }

  TEST_CASE("keys in parts are told apart as a std::set does, by where each part stands, too") {
    for (const std::uint64_t seed : drybus::test::seeds(3)) {
      INFO(drybus::test::replay(
          seed, "keys in parts are told apart as a std::set does, by where each part stands, too"));
      Stream stream{seed};
      PartedKeySet set;
      std::set<std::string> twin;
      for (int i = 0; i < 60'000; ++i) {
        const std::vector<std::byte> key = some_key_in_parts(stream);
        const std::uint64_t hash = hash_bytes(key);
        set.prefetch(hash);
        set.prefetch_more(hash);
        REQUIRE(set.insert(hash, key) ==
                twin.insert({reinterpret_cast<const char*>(key.data()), key.size()}).second);
        REQUIRE(set.size() == twin.size());
      }
    }
  }

  TEST_CASE("keys in parts that differ are kept apart even if their hashes are the same") {
    PartedKeySet set;
    const std::array<std::byte, 2> one{std::byte{1}, std::byte{2}};
    std::vector<std::byte> together, apart;
    add_part(together, one);
    add_part(apart, std::span{one}.first(1));
    add_part(apart, std::span{one}.last(1));
    CHECK(set.insert(7, together));
    CHECK(set.insert(7, apart));
    CHECK_FALSE(set.insert(7, together));
    CHECK_THROWS_AS(add_part(apart, std::vector<std::byte>(std::size_t{1} << 24)), std::length_error);
  }

  TEST_CASE("a key that is too long is refused") {
    KeySet keys;
    const std::vector<std::byte> longest(KeySet::longest_key);
    CHECK(keys.insert(1, longest));
    CHECK_FALSE(keys.insert(1, longest));
    CHECK_THROWS_AS(keys.insert(2, std::vector<std::byte>(KeySet::longest_key + 1)), std::length_error);
  }

  TEST_CASE("a state costs no more than the header says") {
    for (const std::uint32_t count : {100'000u, 150'000u, 300'000u, 1'000'000u}) {
      CAPTURE(count);
      CHECK(bytes_each<StateSet<state_size>>(count, state_size) <
            state_size + 4 / 0.55 + 2);  // a block begun, too
      CHECK(bytes_each<KeySet>(count, state_size) < state_size + 1 + 8 / 0.55 + 11);
      CHECK(bytes_each<FingerprintSet>(count, state_size) < 7 / 0.67);
    }
  }

  // Birthday bound n^2 / 2^(b+1), recomputed: 2^32 fingerprints of 64 bits give 1/2; a million 2.7e-8.
  TEST_CASE("the chance of an omission is the birthday bound") {
    CHECK(omission_probability(std::uint64_t{1} << 32, 64) == doctest::Approx(0.5));
    CHECK(omission_probability(1'000'000, 64) == doctest::Approx(2.7105e-8).epsilon(1e-4));
    CHECK(omission_probability(1'000'000) == doctest::Approx(256 * 2.7105e-8).epsilon(1e-4));
    CHECK(omission_probability(std::uint64_t{1} << 40) == 1.0);
    CHECK(omission_probability(0) == 0.0);
  }

  TEST_CASE("parents are given back as they were added, one by one and in a row") {
    for (const std::uint64_t seed : drybus::test::seeds(5)) {
      INFO(drybus::test::replay(seed, "parents are given back as they were added, one by one and in a row"));
      Stream stream{seed};
      ParentLinks links;
      std::vector<std::uint32_t> twin;
      std::uint32_t parent = 0;
      for (int i = 0; i < 3'000; ++i) {
        parent += static_cast<std::uint32_t>(stream.below(10) == 0 ? stream.below(300) : stream.below(3));
        links.add(parent);
        twin.push_back(parent);
      }
      for (int i = 0; i < 200; ++i) {
        const std::size_t at = stream.below(twin.size());
        REQUIRE(links[at] == twin[at]);
      }
      const std::size_t first = stream.below(1'000);
      std::size_t next = first;
      links.for_each(first, twin.size(), [&](std::size_t index, std::uint32_t each) {
        REQUIRE(index == next++);
        REQUIRE(each == twin[index]);
      });
      CHECK(next == twin.size());
    }
  }
}
