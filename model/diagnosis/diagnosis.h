// From what was seen to what could explain it: model-based diagnosis by simulation.
//
// A hypothesis is a set of up to three slips and faults, each placed at a step and a device. The run as it
// was told is gone through once, with copies of the world kept; a hypothesis forks it where it differs. What
// it predicts is compared with what was seen, under a small chance that a report is wrong. Hypotheses that
// leave the site in the same hidden state are ways to one explanation: no look at the site can tell them
// apart, and the cure is the same.
#pragma once

#include <atomic>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "model/diagnosis/catalogue.h"
#include "model/diagnosis/placed_cause.h"
#include "model/diagnosis/report.h"
#include "model/people/change.h"
#include "model/world/world.h"

namespace drybus::model {

/// One hypothesis that was run.
struct Account {
  double probability = 0;
  std::vector<PlacedCause> causes;  ///< empty: all went as told
  std::string text;                 ///< one sentence
  std::string written;              ///< the same as files have it, in whatever words `text` is
  Changes changes;                  ///< to Report::believed
  /// The world it ends in: when all that was told is done, and after the checks that were made since. It
  /// belongs to `scenario_of`: a hypothesis may have people whom the report does not know.
  std::shared_ptr<const World> world;
};

struct RankedExplanation {
  double probability = 0;                   ///< of all its ways together
  std::vector<PlacedCause> faults;          ///< slips and faults of the most probable way
  std::string text;                         ///< one sentence, that of the most probable way
  std::string written;                      ///< the same as files have it
  std::vector<std::uint32_t> supported;     ///< indices into Report::seen: as it predicts, and not as told
  std::vector<std::uint32_t> contradicted;  ///< reported otherwise than it predicts
  std::vector<Account> ways;                ///< the most probable first; at least one
  std::vector<std::uint32_t> alike;  ///< other explanations that no check on site can tell from this one
};

struct DiagnosisBounds {
  std::size_t most_causes = 3;
  std::size_t most_runs =
      4'000;  ///< hypotheses that are run, at most: four times as many find no more causes, measured
  std::uint64_t most_events = 1'200'000;  ///< of all runs together: some 0.3 s
  std::size_t most_explanations = 12;
  double least_ratio = 1e-3;  ///< hypotheses less probable than this against the best one do not count
  const std::atomic<bool>* stop = nullptr;  ///< set: the best answer so far is given
  /// Called now and then with the share of prior mass explored so far.
  std::function<void(double explored)> progress;
};

struct Diagnosis {
  std::vector<RankedExplanation> explanations;  ///< the most probable first
  double unexplained = 0;                       ///< the probability that it is none of these
  double explored = 0;                          ///< the share of the prior probability that was gone through
  std::size_t runs = 0;                         ///< hypotheses that were run
  bool interrupted = false;                     ///< told to stop
  std::vector<std::uint32_t> odd;  ///< indices into Report::seen: not as it would be if all had gone as told
  /// Indices into Report::seen that cannot all be true together, whatever happened, as few as show it; else
  /// empty.
  std::vector<std::uint32_t> conflict;
};

Diagnosis diagnose(const Report& report, const Catalogue& catalogue, const DiagnosisBounds& bounds = {});

/// The scenario of an account: the report's with its changes, without looks. Its run ends in the account's
/// world before any check was made.
Scenario scenario_of(const Report& report, const Account& account);

}  // namespace drybus::model
