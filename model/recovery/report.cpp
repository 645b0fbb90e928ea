#include "model/recovery/report.h"

#include <algorithm>
#include <deque>

namespace drybus::model {

namespace {

/// Ways to one explanation that hardly count are left out; so are more of them than these.
constexpr double least_way = 0.001;
constexpr std::size_t most_ways = 8;

/// The worlds of a report, with the scenarios that they belong to.
struct Worlds {
  std::deque<Scenario> scenarios;
  std::vector<Possibility> possible;

  void add(const Report& report, const RankedExplanation& explanation, std::size_t ways = most_ways) {
    for (std::size_t way = 0; way < std::min(ways, explanation.ways.size()); ++way) {
      const Account& account = explanation.ways[way];
      if (way > 0 && account.probability < least_way) break;
      scenarios.push_back(scenario_of(report, account));
      possible.push_back({&scenarios.back(), *account.world, account.probability});
    }
  }
};

Cure unexplained() {
  Cure cure;
  cure.reasons.emplace_back("Nothing explains what was seen.");
  return cure;
}

}  // namespace

ReportCure recover(const Report& report, const Diagnosis& diagnosis, const ReportRecoverOptions& options) {
  ReportCure found;
  Worlds likely;
  Worlds all;
  for (std::uint32_t i = 0; i < diagnosis.explanations.size(); ++i) {
    const RankedExplanation& explanation = diagnosis.explanations[i];
    all.add(report, explanation, 1);
    if (explanation.probability < options.least_probability && i > 0) continue;
    found.explanations.push_back(i);
    found.probability += explanation.probability;
    likely.add(report, explanation);
  }
  if (all.possible.empty()) {
    found.cure = found.otherwise = unexplained();
    return found;
  }
  found.cure = recover(report.believed, likely.possible, options.recover);
  RecoverOptions afresh = options.recover;
  afresh.afresh = true;
  found.otherwise = recover(report.believed, all.possible, afresh);
  return found;
}

}  // namespace drybus::model
