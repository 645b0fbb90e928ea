#include "model/diagnosis/unsure.h"

#include <algorithm>

namespace drybus::model {

namespace {

/// So much likelier; judgement. A step left out has then some 6 %, a button let go early 30 %.
constexpr double unsure_step_weight = 20;
/// Switches that nobody knows are as likely as not to be those that are meant; judgement.
constexpr double unread_switches_weight = 50;
constexpr double most_likely = 0.4;

bool contains(const auto& values, const auto& value) {
  return std::find(values.begin(), values.end(), value) != values.end();
}

}  // namespace

void weigh_what_is_unsure(const Report& report, std::vector<PlacedChange>& placed) {
  if (report.unsure_steps.empty() && report.unread.empty()) return;
  for (PlacedChange& each : placed) {
    const bool unsure_step =
        each.placed.step && !is_fault(each.placed.cause) && contains(report.unsure_steps, *each.placed.step);
    const bool unread =
        each.placed.cause == Mishap::switch_wrong && contains(report.unread, each.placed.device);
    const double weight = unread ? unread_switches_weight : unsure_step ? unsure_step_weight : 1;
    if (weight > 1) each.chance = std::max(each.chance, std::min(most_likely, each.chance * weight));
  }
}

}  // namespace drybus::model
