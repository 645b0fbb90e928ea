#include "model/firmware/turns.h"

#include <algorithm>
#include <cstring>
#include <numeric>

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
  turns.not_foreseen = 0;
}

namespace {

constexpr std::uint64_t longest_round = 4'096;

/// How often a word has grown since it began again; nothing when it is not on its round.
std::optional<std::uint32_t> place_in_round(const TurnCounter& counter, std::uint32_t word) {
  const std::int64_t gone = static_cast<std::int32_t>(word - counter.from);
  const std::int64_t by = static_cast<std::int32_t>(counter.by);
  if (counter.round == 0 || gone % by != 0 || gone / by < 0 || gone / by >= counter.round)
    return std::nullopt;
  return static_cast<std::uint32_t>(gone / by);
}

/// Of a word that grew by `known.by` until now, and in this turn by something else.
TurnCounter begun_again(const TurnCounter& known, std::uint32_t before, std::uint32_t after) {
  const TurnCounter round{known.at, known.by, after, static_cast<std::uint32_t>(longest_round)};
  const auto place = place_in_round(round, before);
  if (!place || *place == 0) return {known.at, after - before, 0, 0};
  return {known.at, known.by, after, *place + 1};
}

}  // namespace

std::optional<TurnCounters> counters_of(std::span<const std::byte> before, std::span<const std::byte> after,
                                        const TurnCounters& until_now) {
  TurnCounters counters{};
  std::size_t found = 0;
  for (std::size_t at = 0; at < before.size(); at += sizeof(std::uint32_t)) {
    const std::uint32_t was = word_at(before, at);
    const std::uint32_t is = word_at(after, at);
    if (was == is) continue;
    if (found == counters.size()) return std::nullopt;
    const auto known = std::find_if(until_now.begin(), until_now.end(),
                                    [&](const TurnCounter& each) { return each.by != 0 && each.at == at; });
    TurnCounter& counter = counters[found++];
    counter = {static_cast<std::uint32_t>(at), is - was, 0, 0};
    if (known == until_now.end()) continue;
    counter = known->by == is - was ? *known : begun_again(*known, was, is);
  }
  return counters;
}

void count(const TurnCounters& counters, std::uint64_t turns, std::span<std::byte> state) {
  for (const TurnCounter& counter : counters) {
    if (counter.by == 0) continue;
    const std::uint32_t before = word_at(state, counter.at);
    auto word = static_cast<std::uint32_t>(before + counter.by * turns);
    if (const auto place = place_in_round(counter, before))
      word = counter.from + counter.by * static_cast<std::uint32_t>((*place + turns) % counter.round);
    std::memcpy(state.data() + counter.at, &word, sizeof word);
  }
}

std::uint64_t common_round(const TurnCounters& counters) {
  std::uint64_t round = 1;
  for (const TurnCounter& counter : counters) {
    if (counter.by == 0 || counter.round == 0) continue;
    round = std::lcm(round, std::uint64_t{counter.round});
    if (round > longest_round) return 0;
  }
  return round;
}

std::uint64_t worth_looking(std::uint64_t round) {
  constexpr std::uint64_t many = 32'768;  // going through them takes a millisecond, as looking into one does
  return round == 1 ? many : first_ahead << most_doublings;
}

std::uint64_t turns_ahead(const TurnState& turns) {
  return first_ahead << std::min(turns.ahead, most_doublings);
}

}  // namespace drybus::model
