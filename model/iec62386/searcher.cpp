#include "model/iec62386/searcher.h"

#include <array>
#include <cassert>

namespace drybus::iec62386 {

namespace {
struct Register {
  std::uint8_t code;
  unsigned shift;
};
constexpr std::array<Register, 3> registers = {{{0xB1, 16}, {0xB3, 8}, {0xB5, 0}}};
}  // namespace

/// The address at which the next COMPARE asks, or which is to be left in the registers.
RandomAddress Searcher::wanted() const {
  switch (phase) {
    case Phase::anybody:
      return last_random;
    case Phase::halving:
      return least | ((RandomAddress{1} << bit) - 1);
    case Phase::found:
    case Phase::done:
      break;
  }
  return least;
}

std::optional<BitFrame> Searcher::next() {
  if (phase == Phase::done) return std::nullopt;
  const RandomAddress want = wanted();
  for (std::size_t i = 0; i < registers.size(); ++i) {
    const auto [code, shift] = registers[i];
    const std::uint32_t byte = (want >> shift) & 0xFFU;
    const bool unknown = (sent >> 24U) != 0 && bytes_sent == i;
    const bool changed = (sent >> 24U) == 0 && ((sent >> shift) & 0xFFU) != byte;
    const bool again = all_bytes && bytes_sent == i;
    if (!unknown && !changed && !again) continue;
    ++bytes_sent;
    sent = (sent & ~(0xFFU << shift)) | (byte << shift);
    if ((sent >> 24U) != 0 && bytes_sent == registers.size()) sent &= last_random;
    return special_frame(code, static_cast<std::uint8_t>(byte));
  }
  if (phase == Phase::found) return std::nullopt;
  bytes_sent = 0;
  ++compares;
  return special_frame(0xA9);
}

void Searcher::compared(bool answered) {
  assert(phase == Phase::anybody || phase == Phase::halving);
  if (phase == Phase::anybody) {
    phase = answered ? Phase::halving : Phase::done;
    bit = 23;
    least = 0;
    return;
  }
  if (!answered) least |= RandomAddress{1} << bit;
  if (bit == 0) {
    phase = Phase::found;
  } else {
    --bit;
  }
}

void Searcher::go_on() {
  assert(phase == Phase::found);
  phase = Phase::anybody;
  bytes_sent = 0;
}

}  // namespace drybus::iec62386
