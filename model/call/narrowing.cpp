#include "model/call/narrowing.h"

#include <algorithm>
#include <memory>
#include <utility>

#include "model/recovery/rehearsal.h"

namespace drybus::model {

namespace {

/// A look is wrong as often as any other report.
constexpr double misreport = 0.02;
/// When fewer of those that count lead to what was answered, others may do so better; judgement.
constexpr double least_expected = 0.15;
/// Ways of less than this of all are let go of.
constexpr double least_way = 1e-5;

/// A setup that went on when all that was told was done may be over by the time of the first check; judgement.
constexpr double over_by_then = 0.35;

bool is_at_rest(std::string_view shown) {
  return shown == to_string(Pattern::dark) || shown == to_string(Pattern::blip) ||
         shown == to_string(Pattern::breathe);
}

/// The chance of an answer in the world that it was carried on to. `waiting`: in setup since before the first check.
double chance_of(const Site& site, const Rehearsal& after, const CallAnswer& answer,
                 const std::vector<bool>& waiting) {
  double chance = 1;
  for (const Seen& seen : answer.seen) {
    const std::size_t step = seen.after_step.value_or(static_cast<std::uint32_t>(answer.steps.size() - 1));
    const bool as_seen =
        seen.fact == Fact::indicator
            ? to_string(after.answered[step][seen.device]) == seen.what
            : (after.world.loads[site.module_index(seen.device)].to > 0) == (seen.what != "dark");
    const bool may_be_over = seen.fact == Fact::indicator && waiting[seen.device] && is_at_rest(seen.what);
    chance *= as_seen ? 1 - misreport : may_be_over ? over_by_then : misreport;
  }
  return chance;
}

/// The same where nobody knows what is wrong.
double chance_of_anything(const CallAnswer& answer) {
  double chance = 1;
  for (const Seen& seen : answer.seen) chance *= seen.fact == Fact::load ? 1.0 / 2 : 1.0 / 3;
  return chance;
}

/// Devices that have not left since what they were in at the beginning.
std::vector<bool> still_in_setup(const World& before, const World& after) {
  std::vector<bool> waiting;
  for (std::size_t i = 0; i < before.devices.size(); ++i)
    waiting.push_back(before.devices[i].mode == Mode::setup && after.devices[i].mode == Mode::setup);
  return waiting;
}

void sort(Diagnosis& diagnosis) {
  for (RankedExplanation& each : diagnosis.explanations) {
    std::stable_sort(each.ways.begin(), each.ways.end(),
                     [](const Account& a, const Account& b) { return a.probability > b.probability; });
    each.faults = each.ways.front().causes;
    each.text = each.ways.front().text;
    each.written = each.ways.front().written;
  }
  std::stable_sort(
      diagnosis.explanations.begin(), diagnosis.explanations.end(),
      [](const RankedExplanation& a, const RankedExplanation& b) { return a.probability > b.probability; });
}

}  // namespace

std::optional<Diagnosis> narrowed(const Report& report, const Diagnosis& diagnosis,
                                  const CallAnswer& answer) {
  if (answer.about != Asked::check || !answer.read.empty() || answer.steps.empty()) return std::nullopt;
  Diagnosis after = diagnosis;
  double sum = diagnosis.unexplained * chance_of_anything(answer);
  double expected = 0;
  after.unexplained = sum;
  for (RankedExplanation& explanation : after.explanations) {
    explanation.probability = 0;
    for (Account& way : explanation.ways) {
      Rehearsal rehearsal = rehearse(scenario_of(report, way), *way.world, answer.steps, true);
      const double chance =
          chance_of(report.believed.site, rehearsal, answer, still_in_setup(*way.world, rehearsal.world));
      if (chance > misreport) expected += way.probability;
      way.probability *= chance;
      way.world = std::make_shared<const World>(std::move(rehearsal.world));
      explanation.probability += way.probability;
    }
    sum += explanation.probability;
  }
  if (expected < least_expected) return std::nullopt;
  for (RankedExplanation& explanation : after.explanations) {
    explanation.probability /= sum;
    for (Account& way : explanation.ways) way.probability /= sum;
    std::erase_if(explanation.ways, [](const Account& way) { return way.probability < least_way; });
  }
  after.unexplained /= sum;
  std::erase_if(after.explanations, [](const RankedExplanation& each) { return each.ways.empty(); });
  if (after.explanations.empty()) return std::nullopt;
  sort(after);
  return after;
}

}  // namespace drybus::model
