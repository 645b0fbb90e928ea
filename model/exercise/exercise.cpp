#include "model/exercise/exercise.h"

#include <algorithm>

#include "model/diagnosis/diagnosis.h"
#include "sim/digest.h"
#include "sim/random.h"

namespace drybus::model {

namespace {

/// A round of everything that the site allows, and what it shows when all is right.
struct WholeRound {
  Trial trial;
  Sighting right;
};

class Drawing {
 public:
  Drawing(const BuiltSite& built, const RouteProblem& problem, const Catalogue& catalogue,
          const ExerciseBounds& bounds, std::uint64_t seed)
      : built_(built),
        catalogue_(catalogue),
        bounds_(bounds),
        install_(install_of(problem, built.may_lose_power())),
        aftermath_(install_, catalogue),
        outcomes_(aftermath_.outcomes(bounds.most_slips)),
        stream_{seed, sim::Purpose::generator, sim::stable_name("exercise"), 0} {
    scenario_.title = "What is wrong here?";
    scenario_.seed = seed;
    scenario_.site = built.site;
    scenario_.times = problem.times;
    scenario_.people.push_back({"installer", start_place(), {}});
  }

  std::optional<Exercise> draw(Difficulty difficulty) {
    if (outcomes_.wrong.empty() || !prepare_round()) return std::nullopt;
    for (std::size_t tried = 0; tried < bounds_.most_tried; ++tried) {
      auto exercise = difficulty == Difficulty::hard ? draw_two() : draw_one(difficulty);
      if (exercise) return exercise;
    }
    return std::nullopt;
  }

 private:
  [[nodiscard]] PlaceId start_place() const {
    return built_.start.value_or(built_.site.plates.empty() ? PlaceId{0} : built_.site.plates.front().place);
  }

  bool prepare_round() {
    round_.trial = make_trial(built_.site, round_of(built_, all_tests(built_)), start_place(), true);
    const auto right = try_out(round_.trial, outcomes_.right);
    if (right) round_.right = *right;
    return right.has_value();
  }

  [[nodiscard]] const PlacedChange& likeliest_cause(std::size_t outcome) const {
    return outcomes_.causes[outcomes_.wrong[outcome].causes.front()];
  }

  std::size_t draw_outcome() { return static_cast<std::size_t>(stream_.below(outcomes_.wrong.size())); }

  [[nodiscard]] std::string words_of(std::size_t outcome) const {
    return describe(install_.report.believed, likeliest_cause(outcome).placed);
  }

  std::optional<Exercise> draw_one(Difficulty difficulty) {
    const std::size_t outcome = draw_outcome();
    auto exercise = proved(outcomes_.wrong[outcome].world);
    if (!exercise) return std::nullopt;
    const bool behind_a_cover = exercise->cure.opens || exercise->cure.repairs > 0;
    if (behind_a_cover != (difficulty == Difficulty::middle)) return std::nullopt;
    if (!found_by_diagnosis(*exercise)) return std::nullopt;
    exercise->truth = {words_of(outcome)};
    return exercise;
  }

  std::optional<Exercise> draw_two() {
    const std::size_t one = draw_outcome();
    const std::size_t other = draw_outcome();
    if (one == other) return std::nullopt;
    const World world = aftermath_.end_of({&likeliest_cause(one), &likeliest_cause(other)});
    // One of them may undo or hide the other.
    for (const std::size_t alone : {one, other}) {
      if (alike(built_.site, world, outcomes_.wrong[alone].world)) return std::nullopt;
    }
    auto exercise = proved(world);
    if (!exercise || !found_by_diagnosis(*exercise)) return std::nullopt;
    exercise->truth = {words_of(one), words_of(other)};
    return exercise;
  }

  /// Told from the right site by the round, and cured.
  std::optional<Exercise> proved(World world) const {
    const auto sighting = try_out(round_.trial, world);
    if (!sighting || sighting->touched || !tells_apart(round_.trial, round_.right, *sighting))
      return std::nullopt;
    world.people.assign(1, {});
    world.people[0].place = start_place();
    world.people[0].done = 1;
    Exercise exercise;
    exercise.scenario = scenario_;
    exercise.start = std::move(world);
    const Possibility possibility{&exercise.scenario, exercise.start, 1};
    exercise.cure = recover(exercise.scenario, std::span{&possibility, 1});
    if (exercise.cure.end != Cure::End::found) return std::nullopt;
    exercise.round_takes = round_.right.took;
    exercise.round_steps = round_.trial.scenario.people[0].script.size() - round_.trial.looks.size();
    return exercise;
  }

  /// Asks the engine what a caller would be told who had gone the whole round.
  bool found_by_diagnosis(Exercise& exercise) const {
    DiagnosisBounds bounds;
    bounds.most_runs = bounds_.most_hypotheses;
    const Report report = report_of_round(exercise);
    const Diagnosis diagnosis = diagnose(report, catalogue_, bounds);
    const std::size_t most = std::min(bounds_.best_explanations, diagnosis.explanations.size());
    for (std::size_t i = 0; i < most; ++i) {
      for (const Account& way : diagnosis.explanations[i].ways) {
        if (way.world == nullptr || !alike(built_.site, *way.world, exercise.start)) continue;
        exercise.rank = i + 1;
        return true;
      }
    }
    return false;
  }

  [[nodiscard]] Report report_of_round(const Exercise& exercise) const {
    const Scenario& told = round_.trial.scenario;
    const auto sighting = try_out(round_.trial, exercise.start);
    Report report;
    report.believed = told;
    report.believed.checks.clear();
    std::vector<Step>& script = report.believed.people[0].script;
    script.clear();
    for (const Step& step : told.people[0].script) {
      if (step.kind != StepKind::see) {
        script.push_back(step);
        continue;
      }
      for (const std::uint32_t check : step.checks)
        report.seen.push_back(seen_at(told.checks[check], sighting->values[check], script.size()));
    }
    return report;
  }

  static Seen seen_at(const Check& check, std::uint16_t value, std::size_t steps) {
    Seen seen;
    seen.device = check.device;
    seen.fact = check.fact;
    seen.what = check.fact == Fact::indicator ? std::string{to_string(static_cast<Pattern>(value))}
                                              : std::string{value > 0 ? "lit" : "dark"};
    if (steps > 0) seen.after_step = static_cast<std::uint32_t>(steps - 1);
    return seen;
  }

  const BuiltSite& built_;
  const Catalogue& catalogue_;
  ExerciseBounds bounds_;
  Install install_;
  Aftermath aftermath_;
  Outcomes outcomes_;
  sim::Stream stream_;
  Scenario scenario_;
  WholeRound round_;
};

}  // namespace

std::optional<Exercise> make_exercise(const BuiltSite& built, const RouteProblem& problem,
                                      const Catalogue& catalogue, Difficulty difficulty, std::uint64_t seed,
                                      const ExerciseBounds& bounds) {
  return Drawing{built, problem, catalogue, bounds, seed}.draw(difficulty);
}

}  // namespace drybus::model
