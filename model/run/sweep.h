// Many runs of one scenario with people's timing and slips, and how often each finding came of it.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "model/findings/findings.h"
#include "model/run/driver.h"
#include "model/run/human.h"

namespace drybus::model {

/// Runs [first, first + count) of a sweep. Adding parts up in any order gives the same whole.
struct SweepPart {
  std::uint64_t first = 0;
  std::uint64_t runs = 0;
  std::uint64_t with_slip = 0;
  std::uint64_t with_finding = 0;
  std::array<std::uint64_t, finding_count> hits{};       ///< runs with this finding
  std::array<std::uint64_t, finding_count> first_run{};  ///< the first run with it; `none` when there is none
  static constexpr std::uint64_t none = ~std::uint64_t{0};

  SweepPart() { first_run.fill(none); }
  void add(const SweepPart& other);
  friend bool operator==(const SweepPart&, const SweepPart&) = default;
};

/// Reuses its memory from run to run; one for each thread.
class Sweeper {
 public:
  Sweeper(const Scenario& scenario, const HumanFactors& factors, std::uint64_t seed,
          const Budget& budget = {});

  /// Throws FirmwareFault, with the number of the run, for a firmware that does what it must not, and UsedUp likewise.
  SweepPart runs(std::uint64_t first, std::uint64_t count);

  /// What the installer did in that run, as a scenario with its slips.
  const Scenario& scenario_of(std::uint64_t run, std::vector<Slip>& slips);

 private:
  void one(std::uint64_t run, SweepPart& part);
  void try_one(std::uint64_t run, SweepPart& part);

  const Scenario& meant_;
  HumanFactors factors_;
  std::uint64_t seed_;
  Budget budget_;
  Scenario scenario_;
  World start_;
  World world_;
  sim::Record record_;
  std::vector<Slip> slips_;
};

}  // namespace drybus::model
