// Hypotheses that leave the same behind, or name the same slips, put together: what a support engineer takes for one explanation.
#pragma once

#include <vector>

#include "model/diagnosis/cause_space.h"
#include "model/world/hidden_state.h"

namespace drybus::model {

/// A hypothesis with what is wanted to put it together with others.
struct Candidate {
  sim::PartSet parts;
  double log_weight = 0;
  double probability = 0;
  const Prediction* prediction = nullptr;
  HiddenState ends;
  std::size_t group = 0;
};

/// Nobody can tell at which moment it was: it comes from outside, or while nobody looks.
bool is_at_some_moment(Mishap cause);

/// Gives every candidate its group, the index of one of them. Together are those that leave the same hidden state, or that name
/// the same slips and the same things that are not as they should be: which button was pressed instead, which module was taken,
/// how long somebody was away and when within one setup are ways to one explanation, and a choice that is spread over many
/// modules counts as one.
void group(const Scenario& told, const CauseSpace& space, std::vector<Candidate>& candidates);

}  // namespace drybus::model
