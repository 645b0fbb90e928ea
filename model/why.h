// Why something is as it is: the causes, back to what people did or did not do, each of them tried out.
//
// A cause is named only if the answer would have been another without it. Where one alone would have changed nothing,
// because something else would have led to the same, both are named together: either alone would have sufficed.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/counterfactual.h"
#include "model/inquiry.h"

namespace drybus::model {

struct Cause {
  sim::Instant at{};
  std::string text;               ///< without its time
  std::string clause;             ///< with it, as part of the answer; may be empty
  std::optional<StepRef> step;
  Changes changes;                ///< what takes it away
  std::string otherwise;          ///< the same in words: "had M2's time-out not run out"
  std::size_t reason = 0;         ///< which of the reasons it belongs to
  std::string would_be;           ///< the answer without it
  bool deeper = false;            ///< as in Lead
};

/// What the answer is due to. One reason is the ordinary case; of several, each alone would have sufficed.
struct Explanation {
  std::string answer;                     ///< as it is
  std::vector<std::vector<Cause>> reasons;
  std::vector<Telling> offers;            ///< for addresses: everything that was offered
  [[nodiscard]] std::vector<const Cause*> causes() const;
};

/// Nothing is named that was not tried out. `reasons` is empty when no cause was found.
Explanation explain(const Counterfactual& runs, const Question& question);

/// What has to be taken away beside a cause for its own part to show: one cause of every other reason.
Changes beside(const Explanation& explanation, std::size_t reason);

/// Runs a cause's proof again: with everything else out of the way the answer stays as it is, and without the cause it
/// is another.
bool holds(const Counterfactual& runs, const Question& question, const Explanation& explanation, const Cause& cause);

/// The answer as one sentence, causes included.
std::string sentence(const Scenario& scenario, const Question& question, const Explanation& explanation);

}  // namespace drybus::model
