// People vary: how long they take, and the slips they make. Draws come from streams keyed by the run, so that run 17 of
// a sweep is the same on any machine, alone or among a million.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "model/people/script.h"

namespace drybus::model {

/// Spreads are standard deviations of the logarithm; chances are per 10^9 opportunities.
struct HumanFactors {
  /// Walking 1.32 m/s with a standard deviation of 0.31 (Andrews et al.): a coefficient of variation of 0.235.
  double walk_spread = 0.232;
  double wait_spread = 0.3;   ///< scripted waits; judgement
  double press_spread = 0.3;  ///< judgement
  double pause_spread = 0.5;  ///< judgement
  /// Who holds a button until its lamp blinks lets go this long after; median and spread by judgement.
  sim::Duration let_go = std::chrono::milliseconds{600};
  double let_go_spread = 0.5;
  /// Omission without a check-off list, a short procedure (NUREG/CR-1278, from memory). Comparative only.
  std::uint32_t omit_ppb = 3'000'000;
  /// The wrong one chosen among labelled, identical controls (NUREG/CR-1278, by way of a secondary source).
  std::uint32_t wrong_ppb = 3'000'000;
  std::uint32_t repeat_ppb = 2'000'000;         ///< judgement
  std::uint32_t let_go_early_ppb = 10'000'000;  ///< before the lamp blinks; judgement
};

/// No slips and no spread.
HumanFactors clockwork();

struct Slip {
  enum class Kind : std::uint8_t { omitted, wrong, repeated, let_go_early };
  Kind kind = Kind::omitted;
  std::uint32_t step = 0;  ///< index into the script as it was meant
};

/// "forgot to press P1 accept"
std::string describe(const Scenario& meant, const Slip& slip);

/// What the installer really does in run `run`: puts it into `out`, a copy of `meant` (only its people, times and walks
/// are written), and the slips into `slips`.
void vary(const Scenario& meant, const HumanFactors& factors, std::uint64_t seed, std::uint64_t run,
          Scenario& out, std::vector<Slip>& slips);

}  // namespace drybus::model
