// Why something is as it is: the causes, back to what people did or did not do, each of them tried out.
//
// A cause is named only if the answer would have been another without it. Where something else would have led to the
// same in its stead, that is named too, as a second reason: either alone would have sufficed, and the proof takes the
// one away to show the part of the other. Of what makes a difference only together the smallest sets are named.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "model/why/cause_sets.h"
#include "model/why/counterfactual.h"
#include "model/why/inquiry.h"

namespace drybus::model {

struct Cause {
  sim::Instant at{};
  std::string text;    ///< without its time
  std::string clause;  ///< with it, as part of the answer; may be empty
  std::optional<StepRef> step;
  Changes changes;         ///< what takes it away
  Changes beside;          ///< what has to be taken away as well before its part shows; mostly nothing
  std::string otherwise;   ///< the same in words: "had M2's time-out not run out"
  std::size_t reason = 0;  ///< which of the reasons it belongs to
  std::string would_be;    ///< the answer without it
  bool deeper = false;     ///< as in Lead
};

/// What the answer is due to. One reason is the ordinary case; of several, each alone would have sufficed: the second
/// is what would have led to the same without the first, and so on. In each, what is nearest to the answer comes first.
struct Explanation {
  std::string answer;  ///< as it is
  std::vector<std::vector<Cause>> reasons;
  std::vector<CauseSet> sets;  ///< what makes a difference only together, whether or not something does alone
  std::vector<Telling> offers;  ///< for addresses: everything that was offered
  [[nodiscard]] std::vector<const Cause*> causes() const;
};

/// Nothing is named that was not tried out. `reasons` is empty when no cause was found that makes a difference alone, or
/// would have sufficed alone; `sets` then names what does together, if anything does.
Explanation explain(const Counterfactual& runs, const WhyQuestion& question);

/// Runs a cause's proof again: with what stands beside it out of the way the answer stays as it is, and without the
/// cause as well it is another.
bool holds(const Counterfactual& runs, const WhyQuestion& question, const Explanation& explanation,
           const Cause& cause);

/// The same for a set: without all of it the answer is another, and without any part of it as it is.
bool holds(const Counterfactual& runs, const WhyQuestion& question, const Explanation& explanation,
           const CauseSet& set);

/// The answer as one sentence, causes included.
std::string sentence(const Scenario& scenario, const WhyQuestion& question, const Explanation& explanation);

}  // namespace drybus::model
