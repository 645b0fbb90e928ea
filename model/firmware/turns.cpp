#include "model/firmware/turns.h"

#include <algorithm>
#include <cstring>

namespace drybus::model {

namespace {

/// Few at first: most devices that something has just reached are soon reached again.
constexpr std::uint64_t first_ahead = 32;
/// Then twice as many each time, up to three hours of turns of 10 ms.
constexpr std::uint32_t most_doublings = 15;

std::uint32_t word_at(std::span<const std::byte> state, std::size_t at) {
  std::uint32_t word = 0;
  std::memcpy(&word, state.data() + at, sizeof word);
  return word;
}

}  // namespace

sim::Instant next_turn(const TurnState& turns, sim::Duration period, sim::Instant now) {
  const sim::Duration gone = now - turns.latest;
  return turns.latest + std::max<std::int64_t>(1, (gone + period - sim::Duration{1}) / period) * period;
}

void settle(TurnState& turns, std::span<std::byte> state, sim::Duration period, sim::Instant now) {
  const sim::Instant latest = next_turn(turns, period, now) - period;
  const std::int64_t left_out = (latest - turns.latest) / period;
  if (left_out == 0) return;
  count(turns.counters, static_cast<std::uint64_t>(left_out), state);
  turns.latest = latest;
}

void expect_anything(TurnState& turns) {
  turns.counters = {};
  turns.ahead = 0;
}

std::optional<std::array<TurnCounter, 2>> counters_of(std::span<const std::byte> before,
                                                      std::span<const std::byte> after) {
  std::array<TurnCounter, 2> counters{};
  std::size_t found = 0;
  for (std::size_t at = 0; at < before.size(); at += sizeof(std::uint32_t)) {
    const std::uint32_t by = word_at(after, at) - word_at(before, at);
    if (by == 0) continue;
    if (found == counters.size()) return std::nullopt;
    counters[found++] = {static_cast<std::uint32_t>(at), by};
  }
  return counters;
}

void count(const std::array<TurnCounter, 2>& counters, std::uint64_t turns, std::span<std::byte> state) {
  for (const TurnCounter& counter : counters) {
    if (counter.by == 0) continue;
    const auto word = static_cast<std::uint32_t>(word_at(state, counter.at) + counter.by * turns);
    std::memcpy(state.data() + counter.at, &word, sizeof word);
  }
}

std::uint64_t turns_ahead(const TurnState& turns) {
  return first_ahead << std::min(turns.ahead, most_doublings);
}

}  // namespace drybus::model
