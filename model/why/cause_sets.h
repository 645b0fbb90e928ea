// What only together makes a difference: the smallest sets of causes without which the answer is another.
#pragma once

#include <string>
#include <vector>

#include "model/why/counterfactual.h"
#include "model/why/lead.h"

namespace drybus::model {

/// Causes that have to be taken away together; none of them can be left out of the set.
struct CauseSet {
  std::vector<Lead> leads;  ///< each with the one way in which it was taken away
  std::string would_be;     ///< the answer without all of them
  [[nodiscard]] Changes changes() const;
  /// "had P1 off not been pressed at 0:10.0 and had ..."
  [[nodiscard]] std::string otherwise() const;
};

/// All smallest sets among leads of which none alone makes a difference, up to three in a set; where only more together do,
/// one set of which nothing can be left out. Every set has been tried, and every set without one of its members. Leads
/// further back than the first ten are not looked at. Empty when all together make no difference.
std::vector<CauseSet> smallest_sets(const Counterfactual& runs, const WhyQuestion& question,
                                    const std::string& answer, const Leads& leads);

}  // namespace drybus::model
