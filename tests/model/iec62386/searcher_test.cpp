// Addressing by halves as such, without a line.
#include "model/iec62386/searcher.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>
#include <vector>

#include "sim/random.h"

namespace {

using namespace drybus::iec62386;

struct Outcome {
  std::vector<RandomAddress> found;
  std::uint32_t compares = 0;
  std::uint32_t frames = 0;
};

/// A search among these, each of which hears all.
Outcome search(std::vector<RandomAddress> left, bool all_bytes = false) {
  Outcome outcome;
  Searcher searcher;
  searcher.all_bytes = all_bytes ? 1 : 0;
  std::uint32_t registers = 0;
  while (searcher.phase != Searcher::Phase::done) {
    const auto frame = searcher.next();
    if (!frame) {
      CHECK(registers == searcher.least);
      outcome.found.push_back(searcher.least);
      std::erase(left, searcher.least);
      searcher.go_on();
      continue;
    }
    ++outcome.frames;
    const Said said = read(*frame);
    if (said.command->op == Op::search_high)
      registers = (registers & 0x00FFFFU) | (std::uint32_t{said.value} << 16U);
    if (said.command->op == Op::search_middle)
      registers = (registers & 0xFF00FFU) | (std::uint32_t{said.value} << 8U);
    if (said.command->op == Op::search_low) registers = (registers & 0xFFFF00U) | said.value;
    if (said.command->op != Op::compare) continue;
    searcher.compared(
        std::any_of(left.begin(), left.end(), [&](RandomAddress each) { return each <= registers; }));
  }
  outcome.compares = searcher.compares;
  return outcome;
}

std::vector<RandomAddress> draw(std::size_t count, std::uint64_t seed) {
  drybus::sim::Stream stream{seed, drybus::sim::Purpose::generator, 0, 0};
  std::set<RandomAddress> drawn;
  while (drawn.size() < count) drawn.insert(static_cast<RandomAddress>(stream.below(last_random)));
  return {drawn.begin(), drawn.end()};
}

TEST_CASE(
    "n gear take 25 n + 1 compares and are found in the order of their random addresses, n from 0 to 64") {
  for (std::size_t n = 0; n <= 64; ++n) {
    const auto addresses = draw(n, n + 1);
    const Outcome outcome = search(addresses);
    CHECK(outcome.compares == 25 * n + 1);
    CHECK(outcome.found == addresses);
    CHECK(search(addresses, true).found == addresses);
  }
}

TEST_CASE("the extreme addresses are found, too") {
  CHECK(search({0}).found == std::vector<RandomAddress>{0});
  CHECK(search({last_random}).found == std::vector<RandomAddress>{last_random});
  CHECK(search({0, 1, last_random - 1, last_random}).found.size() == 4);
}

TEST_CASE("twins are found once") {
  CHECK(search({5, 5, 9}).found == std::vector<RandomAddress>{5, 9});
}

TEST_CASE("sending all three bytes each time takes more frames") {
  const auto addresses = draw(64, 7);
  const Outcome all = search(addresses, true);
  // 3 bytes and a compare each time, and 3 more to leave the address in the registers. (The sheet counts 6787 with program,
  // verify, withdraw and what opens and closes a round.)
  CHECK(all.frames == 4 * all.compares + 3 * 64);
  CHECK(search(addresses).frames < all.frames * 6 / 10);
}

}  // namespace
