#include "sim/biphase.h"

#include <algorithm>
#include <cassert>
#include <cstddef>
#include <utility>

namespace drybus::sim {

namespace {

/// Whether the line is high in each half-bit of a frame.
std::vector<bool> halves_of(const BitFrame& frame) {
  std::vector<bool> high;
  const auto put = [&high](bool one) {
    high.push_back(!one);
    high.push_back(one);
  };
  put(true);
  for (int bit = frame.bits - 1; bit >= 0; --bit) put(((frame.data >> bit) & 1U) != 0);
  return high;
}

/// The half-bits that edges tell of; empty when one is too long or too short. The line ends high.
std::vector<bool> halves_between(const BiphaseTiming& timing, std::span<const Instant> edges) {
  std::vector<bool> high;
  for (std::size_t i = 0; i + 1 < edges.size(); ++i) {
    const Duration apart = edges[i + 1] - edges[i];
    const bool level = i % 2 == 1;
    const bool one = apart >= timing.half_least && apart <= timing.half_most;
    const bool two = apart >= timing.double_least && apart <= timing.double_most;
    if (!one && !two) return {};
    high.push_back(level);
    if (two) high.push_back(level);
  }
  // The last half of a 1 goes over into the idle line.
  if (high.size() % 2 == 1) high.push_back(true);
  return high;
}

}  // namespace

Edges edges_of(const BiphaseTiming& timing, const BitFrame& frame, Instant start) {
  assert(frame.bits >= 1 && frame.bits <= 32);
  Edges edges;
  bool now = true;
  const std::vector<bool> halves = halves_of(frame);
  for (std::size_t i = 0; i < halves.size(); ++i) {
    if (halves[i] != now) edges.push_back(start + half_bits(timing, static_cast<std::int64_t>(i)));
    now = halves[i];
  }
  if (!now) edges.push_back(start + length(timing, frame));
  return edges;
}

Edges wired_and(std::span<const Edges> senders) {
  std::vector<std::pair<Instant, int>> changes;
  for (const Edges& edges : senders) {
    for (std::size_t i = 0; i < edges.size(); ++i) changes.emplace_back(edges[i], i % 2 == 0 ? 1 : -1);
  }
  // Who pulls comes before who lets go at the same instant: the line does not rise in between.
  std::sort(changes.begin(), changes.end(), [](const auto& a, const auto& b) {
    return a.first != b.first ? a.first < b.first : a.second > b.second;
  });
  Edges together;
  int pulling = 0;
  for (const auto& [at, change] : changes) {
    const bool was_low = pulling > 0;
    pulling += change;
    if ((pulling > 0) != was_low) together.push_back(at);
  }
  return together;
}

Heard decode(const BiphaseTiming& timing, std::span<const Instant> edges) {
  if (edges.empty()) return {};
  const Heard garbled{Heard::Kind::garbled, {}};
  const std::vector<bool> high = halves_between(timing, edges);
  if (high.size() < 4 || high.size() > 66 || high[0] || !high[1]) return garbled;
  BitFrame frame;
  for (std::size_t i = 2; i < high.size(); i += 2) {
    if (high[i] == high[i + 1]) return garbled;
    frame.data = (frame.data << 1U) | (high[i + 1] ? 1U : 0U);
    ++frame.bits;
  }
  return {Heard::Kind::whole, frame};
}

}  // namespace drybus::sim
