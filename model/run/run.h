// A whole run of a scenario: from its first event to the end of everybody's script.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "model/findings/findings.h"
#include "model/people/change.h"
#include "model/run/driver.h"
#include "model/world/simulation.h"
#include "sim/digest.h"

namespace drybus::model {

/// A sane bound for a script that never ends.
inline constexpr sim::Duration default_run_bound = std::chrono::hours{24 * 31};

struct RunOptions {
  std::optional<std::uint64_t> seed;        ///< instead of the scenario's
  sim::Duration until = default_run_bound;  ///< a run that is not over by then is `unfinished`
  std::function<void(const World&, const sim::Record&)> after_event;  ///< may be empty
  DeviceLogic* logic = nullptr;  ///< in place of the site's; must keep nothing in the world
  bool stop_at_failure = false;  ///< the run ends with the first check that fails
  Budget budget;
  bool plain = false;  ///< findings without their words, and no digest: for many runs of which none is told
};

struct CheckResult {
  std::uint32_t check = 0;  ///< index into Scenario::checks
  sim::Instant at{};
  bool passed = false;
  std::string actual;
};

/// A firmware did what it must not, or the budget was used up, and the run ended there.
struct BrokenOff {
  DeviceId device = no_device;
  sim::Instant at{};
  std::optional<StepRef> step;  ///< the one that somebody was at: the installer, unless they had done
  std::string what;
  bool used_up = false;  ///< the budget was: what is recorded is long, and all the same
  bool firmware = true;  ///< one is to blame
};

struct RunResult {
  World world;
  sim::Record record;
  std::vector<CheckResult> checks;
  std::vector<Finding> findings;
  sim::Fingerprint digest;
  bool unfinished = false;
  std::optional<BrokenOff> broken_off;
  /// Every check that came due passed, and the script came to its end.
  [[nodiscard]] bool passed() const;
};

/// Judges a check as it comes due in the step of entry `step`. The watch is brought up to the record first.
CheckResult judge(const Scenario& scenario, const World& world, const sim::Record& record,
                  FindingWatch& watch, std::uint32_t index, sim::EntryId step);

/// How long a record's remarks are with everybody's script told to its end.
std::size_t remark_bytes(const Scenario& scenario);

/// "lobby.yaml:31:5: M2: the firmware 'hall dimmer 2.1', in its handler for timer, crashes ...; at 3:42.1, in the step ..."
std::string describe(const Scenario& scenario, const BrokenOff& broken_off);

RunResult run(const Scenario& scenario, const RunOptions& options = {});

/// The fingerprint of a run: its record and the world that it left.
sim::Fingerprint digest_of(const sim::Record& record, const World& world);

}  // namespace drybus::model
