// From a question to what may have been the causes.
#pragma once

#include "model/why/counterfactual.h"
#include "model/why/lead.h"

namespace drybus::model {

/// What may have made the answer what it is in this course, nearest to the fact first. `course` has come to the
/// question's moment.
Leads leads_for(const WhyQuestion& question, const Altered& altered, const Course& course);

/// Everything that offered the module an address up to the question's moment, and what became of it: moments and
/// sentences, in order of time. Empty for questions that are not about an address.
struct Telling {
  sim::Instant at{};
  std::string text;
};
std::vector<Telling> offers_told(const WhyQuestion& question, const Altered& altered, const Course& course);

}  // namespace drybus::model
