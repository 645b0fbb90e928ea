#include "model/recovery/report.h"

#include <fmt/format.h>

#include <algorithm>
#include <deque>
#include <set>

#include "model/words/words.h"
#include "model/world/hidden_state.h"

namespace drybus::model {

namespace {

/// Ways to one explanation that hardly count are left out; so are more than these of those that leave things otherwise.
constexpr double least_way = 0.001;
constexpr std::size_t most_ways = 16;

/// The worlds of a report, with the scenarios that they belong to.
struct Worlds {
  std::deque<Scenario> scenarios;
  std::vector<Possibility> possible;

  void add(const Report& report, const RankedExplanation& explanation, std::size_t ways = most_ways) {
    std::set<HiddenState> known;
    for (std::size_t way = 0; way < explanation.ways.size() && known.size() < ways; ++way) {
      const Account& account = explanation.ways[way];
      if (way > 0 && account.probability < least_way) break;
      if (!known.insert(hidden_state(report.believed.site, *account.world)).second) continue;
      scenarios.push_back(scenario_of(report, account));
      possible.push_back({&scenarios.back(), *account.world, account.probability});
    }
  }
};

/// Reported otherwise by every one of the explanations.
std::vector<std::uint32_t> against_all(const Diagnosis& diagnosis,
                                       const std::vector<std::uint32_t>& explanations) {
  std::vector<std::uint32_t> common = diagnosis.explanations[explanations.front()].contradicted;
  for (const std::uint32_t each : explanations) {
    const std::vector<std::uint32_t>& more = diagnosis.explanations[each].contradicted;
    std::erase_if(common, [&more](std::uint32_t seen) {
      return std::find(more.begin(), more.end(), seen) == more.end();
    });
  }
  return common;
}

/// Devices of ours among those seen to blink, and not seen otherwise since.
std::vector<DeviceId> blinking(const Report& report, const std::vector<std::uint32_t>& seen) {
  const auto after = [](const Seen& look) { return look.after_step.value_or(~std::uint32_t{0}); };
  const std::string blink{to_string(Pattern::blink)};
  std::vector<DeviceId> devices;
  for (const std::uint32_t index : seen) {
    const Seen& look = report.seen[index];
    if (look.fact != Fact::indicator || look.what != blink) continue;
    if (report.believed.site.is_neighbour(look.device)) continue;
    const bool later = std::any_of(report.seen.begin(), report.seen.end(), [&](const Seen& other) {
      return other.fact == Fact::indicator && other.device == look.device && other.what != blink &&
             after(other) > after(look);
    });
    if (!later) devices.push_back(look.device);
  }
  return devices;
}

/// Nothing that was seen is left aside because nothing explains it.
void take_seriously(const Report& report, const std::vector<std::uint32_t>& seen, Cure& cure) {
  if (cure.end != Cure::End::nothing_to_do || seen.empty()) return;
  cure.end = Cure::End::no_cure;
  for (const std::uint32_t index : seen) {
    cure.reasons.push_back(
        tr("No explanation that counts leads to this: {}. Look again. If it is so, something is out of "
           "step that is not among them.",
           describe(report.believed.site, report.seen[index])));
  }
}

/// What was told, with each device of the family that the likeliest way has it of: gestures and times are those of the family.
Scenario with_generations(const Report& report, const Worlds& likely) {
  Scenario asked = report.believed;
  const Site& site = likely.possible.front().scenario->site;
  for (std::size_t i = 0; i < site.modules.size(); ++i) asked.site.modules[i].family = site.modules[i].family;
  return asked;
}

Cure unexplained() {
  Cure cure;
  cure.reasons.push_back(tr("Nothing explains what was seen."));
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
    if (explanation.ways.empty()) continue;  // left for later
    if (explanation.probability < options.least_probability && !found.explanations.empty()) continue;
    found.explanations.push_back(i);
    found.probability += explanation.probability;
    likely.add(report, explanation);
  }
  if (all.possible.empty()) {
    found.cure = found.otherwise = unexplained();
    return found;
  }
  found.unexplained = against_all(diagnosis, found.explanations);
  RecoverOptions wary = options.recover;
  wary.seen_in_setup = blinking(report, found.unexplained);
  const Scenario asked = with_generations(report, likely);
  found.cure = recover(asked, likely.possible, wary);
  take_seriously(report, found.unexplained, found.cure);
  RecoverOptions afresh = options.recover;
  afresh.afresh = true;
  found.otherwise = recover(asked, all.possible, afresh);
  return found;
}

}  // namespace drybus::model
