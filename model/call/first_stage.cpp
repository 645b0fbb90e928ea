#include "model/call/first_stage.h"

#include <algorithm>
#include <span>
#include <utility>
#include <vector>

#include "model/recovery/aim.h"

namespace drybus::model {

namespace {

/// Until no more than the rest is left; judgement.
constexpr double enough_covered = 0.985;
/// An electrician is sent for when something is likelier broken than not; judgement.
constexpr double worth_an_electrician = 0.5;

struct Way {
  std::size_t explanation = 0;
  std::size_t way = 0;
  double probability = 0;
  bool broken = false;
};

bool has_to_be_mended(const Report& report, const Account& account) {
  const Scenario scenario = scenario_of(report, account);
  const Possibility possible{&scenario, *account.world, 1};
  return !repairs(report.believed, std::span{&possible, 1}).empty();
}

/// Those worth a cure, the likeliest first.
std::vector<Way> worth_curing(const Report& report, const Diagnosis& diagnosis) {
  std::vector<Way> all;
  double of_all = 0;
  double of_broken = 0;
  for (std::size_t e = 0; e < diagnosis.explanations.size(); ++e) {
    const std::vector<Account>& ways = diagnosis.explanations[e].ways;
    for (std::size_t w = 0; w < ways.size(); ++w) {
      all.push_back({e, w, ways[w].probability, has_to_be_mended(report, ways[w])});
      of_all += all.back().probability;
      if (all.back().broken) of_broken += all.back().probability;
    }
  }
  const bool mend = of_broken >= worth_an_electrician * of_all;
  if (!mend) std::erase_if(all, [](const Way& way) { return way.broken; });
  std::stable_sort(all.begin(), all.end(),
                   [](const Way& a, const Way& b) { return a.probability > b.probability; });
  double left = mend ? of_all : of_all - of_broken;
  const double negligible = (1 - enough_covered) * left;
  std::size_t count = 0;
  while (count < all.size() && (count == 0 || left > negligible)) left -= all[count++].probability;
  all.resize(count);
  return all;
}

}  // namespace

Diagnosis first_stage(const Report& report, const Diagnosis& diagnosis) {
  Diagnosis stage = diagnosis;
  std::vector<std::vector<bool>> kept;
  for (const RankedExplanation& each : diagnosis.explanations) kept.emplace_back(each.ways.size(), false);
  for (const Way& way : worth_curing(report, diagnosis)) kept[way.explanation][way.way] = true;
  for (std::size_t e = 0; e < stage.explanations.size(); ++e) {
    RankedExplanation& explanation = stage.explanations[e];
    std::vector<Account> ways;
    explanation.probability = 0;
    for (std::size_t w = 0; w < kept[e].size(); ++w) {
      if (!kept[e][w]) continue;
      explanation.probability += explanation.ways[w].probability;
      ways.push_back(std::move(explanation.ways[w]));
    }
    explanation.ways = std::move(ways);
  }
  return stage;
}

}  // namespace drybus::model
