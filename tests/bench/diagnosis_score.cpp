#include "tests/bench/diagnosis_score.h"

#include <algorithm>
#include <ctime>

#include "model/diagnosis/diagnosis.h"
#include "model/diagnosis/next_check.h"
#include "model/recovery/report.h"

namespace drybus::bench {

using namespace model;

namespace {

/// More questions than these nobody answers.
constexpr std::size_t most_checks = 12;

double core_seconds() {
  timespec now{};
  clock_gettime(CLOCK_THREAD_CPUTIME_ID, &now);
  return static_cast<double>(now.tv_sec) + static_cast<double>(now.tv_nsec) * 1e-9;
}

bool is_right(const DiagnosisCase& of, const std::vector<std::uint32_t>& truth,
              const RankedExplanation& explanation) {
  return std::any_of(explanation.ways.begin(), explanation.ways.end(), [&](const Account& way) {
    return names_all(way.causes, of.mischief) || signature(of.report.believed.site, *way.world) == truth;
  });
}

/// Asks for checks and answers them from the truth, until one explanation is as good as sure.
void ask(const DiagnosisCase& of, const Catalogue& catalogue, Diagnosis& diagnosis, World& world,
         CaseScore& score) {
  while (score.checks < most_checks) {
    const auto next = next_check(of.report, diagnosis);
    if (!next) return;
    Observed observed = observe(of.truth, world, next->check);
    narrow(of.report, catalogue, diagnosis, next->check, observed.outcome);
    world = std::move(observed.world);
    ++score.checks;
  }
}

/// Does as the cure says; whether that puts everything right.
bool cures(const DiagnosisCase& of, World& world, const Cure& cure) {
  if (cure.end == Cure::End::no_cure) return false;
  world = world_after(of.truth, world, cure.steps);
  return is_as_aimed(of.truth, cure.aim, world);
}

}  // namespace

bool names(const PlacedCause& told, const TrueCause& really) {
  // A contact that bounced and a press that was repeated are the same to everybody, and so, to the
  // electrician who is sent there, are a link that loses most and one that loses all.
  const auto alike = [](Mishap mishap) {
    if (mishap == Mishap::bounced) return Mishap::repeated;
    return mishap == Mishap::noisy_link ? Mishap::open_link : mishap;
  };
  if (alike(told.cause) != alike(really.mishap) || told.device != really.device || told.link != really.link)
    return false;
  return !really.step || (told.step == really.step && told.other == really.other);
}

bool names_all(const std::vector<PlacedCause>& told, const std::vector<TrueCause>& really) {
  return told.size() == really.size() &&
         std::all_of(really.begin(), really.end(), [&](const TrueCause& each) {
           return std::any_of(told.begin(), told.end(),
                              [&](const PlacedCause& cause) { return names(cause, each); });
         });
}

CaseScore score_case(const DiagnosisCase& of, const Catalogue& catalogue) {
  CaseScore score;
  const std::vector<std::uint32_t> truth = signature(of.report.believed.site, of.world);
  const double began = core_seconds();
  Diagnosis diagnosis = diagnose(of.report, catalogue);
  score.diagnose_seconds = core_seconds() - began;
  score.explored = diagnosis.explored;
  for (std::size_t i = 0; i < diagnosis.explanations.size() && score.rank == 0; ++i) {
    if (is_right(of, truth, diagnosis.explanations[i])) score.rank = i + 1;
  }
  const ReportCure plan = recover(of.report, diagnosis);
  score.cure_minutes = sim::seconds(plan.cure.time) / 60;
  World put_right = of.world;
  score.cured_first = cures(of, put_right, plan.cure);
  score.cured = score.cured_first || cures(of, put_right, plan.otherwise);
  World world = of.world;
  ask(of, catalogue, diagnosis, world, score);
  score.isolated = !diagnosis.explanations.empty() &&
                   is_right(of, signature(of.report.believed.site, world), diagnosis.explanations.front());
  score.cured_checked = cures(of, world, recover(of.report, diagnosis).cure);
  score.seconds = core_seconds() - began;
  return score;
}

}  // namespace drybus::bench
