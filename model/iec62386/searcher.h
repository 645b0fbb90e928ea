// Addressing by halves, as a pure machine: which frame comes next, given what was answered to the last one. It can be
// interrupted anywhere, for all that it knows is here.
//
// For each gear: COMPARE at FFFFFF; while that is answered, 24 times a half is chosen by COMPARE, so that the least random
// address is left in the search registers; then the owner of the machine programs and withdraws. Silence at FFFFFF: nobody
// is left. So n gear take 25 n + 1 compares. The standard does not ask for halves; the procedure is common practice.
#pragma once

#include <cstdint>
#include <optional>

#include "model/iec62386/frame.h"
#include "sim/fields.h"

namespace drybus::iec62386 {

/// 24 bits.
using RandomAddress = std::uint32_t;
inline constexpr RandomAddress last_random = 0xFF'FFFF;

struct Searcher {
  enum class Phase : std::uint8_t {
    anybody,  ///< is anybody left?
    halving,
    found,  ///< the least address is in the search registers
    done,   ///< nobody answered at FFFFFF
  };
  Phase phase = Phase::anybody;
  std::uint8_t bit = 0;              ///< that is being settled
  RandomAddress least = 0;           ///< the bits that are settled
  RandomAddress sent = 0xFF00'0000;  ///< what the gear's search registers hold; above 24 bits: nobody knows
  std::uint32_t compares = 0;
  std::uint8_t all_bytes = 0;   ///< 1: send all three bytes each time, not only those that changed
  std::uint8_t bytes_sent = 0;  ///< of the three, in this round, where all are sent

  static constexpr auto fields() {
    return std::tuple{
        sim::field(&Searcher::phase, sim::in_state),     sim::field(&Searcher::bit, sim::in_state),
        sim::field(&Searcher::least, sim::in_state),     sim::field(&Searcher::sent, sim::in_state),
        sim::field(&Searcher::compares, sim::in_digest), sim::field(&Searcher::all_bytes, sim::in_state),
        sim::field(&Searcher::bytes_sent, sim::in_state)};
  }
  friend bool operator==(const Searcher&, const Searcher&) = default;

  /// The next frame: a byte of the search address, or COMPARE; none when found or done.
  std::optional<BitFrame> next();

  /// What COMPARE brought: any answer, even a garbled one, is a yes. REQUIRES: the last frame was COMPARE.
  void compared(bool answered);

  /// Goes on to the next gear, after the one that was found was withdrawn. REQUIRES: found.
  void go_on();

 private:
  [[nodiscard]] RandomAddress wanted() const;
};

}  // namespace drybus::iec62386
