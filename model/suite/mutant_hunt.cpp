#include "model/suite/mutant_hunt.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "model/record/describe.h"
#include "model/run/run.h"

namespace drybus::model {

namespace {

/// A situation to go on from.
struct Start {
  Scenario scenario;
  std::size_t from = 0;
  bool from_start = false;
};

bool can_be_installed(const Site& site) {
  const auto ours = [](const auto& spec) { return !spec.neighbour; };
  return std::any_of(site.plates.begin(), site.plates.end(), ours) &&
         std::any_of(site.modules.begin(), site.modules.end(), ours);
}

/// The scenario before anything is done, with nobody but the installer.
Scenario without_script(Scenario scenario) {
  scenario.people.resize(1);
  scenario.people[0].script.clear();
  scenario.checks.clear();
  return scenario;
}

/// The smallest site of each family, in the order in which the families first appear.
std::vector<std::size_t> smallest_of_families(const Mutant& mutant, std::span<const Scenario* const> scenarios) {
  std::vector<std::size_t> smallest;
  for (std::size_t i = 0; i < scenarios.size(); ++i) {
    const Site& site = scenarios[i]->site;
    if (!concerns(mutant, site) || !can_be_installed(site)) continue;
    const auto known = std::find_if(smallest.begin(), smallest.end(), [&](std::size_t other) {
      return scenarios[other]->site.family.name == site.family.name;
    });
    if (known == smallest.end()) {
      smallest.push_back(i);
    } else if (site.device_count() < scenarios[*known]->site.device_count()) {
      *known = i;
    }
  }
  return smallest;
}

MoveBudget budget_with_faults() {
  MoveBudget budget;
  budget[MoveKind::long_presses] = MoveBudget::unlimited;
  budget[MoveKind::slips] = 1;
  budget[MoveKind::power] = 1;
  budget[MoveKind::switches] = 1;
  return budget;
}

/// The search from one start, and what came of it.
class PairHunt {
 public:
  PairHunt(const Start& start, const Mutant& mutant, const MoveBudget& budget)
      : start_(start),
        mutant_(mutant),
        moves_(start_.scenario, budget, static_cast<std::uint32_t>(start_.scenario.checks.size())),
        space_(start_.scenario, mutant_, moves_) {}

  /// Adds to what `hunt` counts.
  std::optional<Killer> find(const sim::SearchBounds& bounds, MutantHunt& hunt) {
    PairState state;
    space_.start(state);
    ++hunt.starts;
    ++hunt.states;
    if (const auto difference = space_.difference_in(state)) return killer_for({}, {}, *difference);
    const sim::SearchResult result =
        sim::Explorer<PairSpace, sim::FingerprintSet>{std::span{&space_, 1}, bounds}.run();
    hunt.states += result.progress.states - 1;
    hunt.exhausted = hunt.exhausted && result.end == sim::SearchEnd::exhausted;
    if (result.end != sim::SearchEnd::broken) return std::nullopt;
    return retold(std::move(state), result.actions);
  }

 private:
  std::optional<Killer> retold(PairState state, const std::vector<sim::Action>& actions) {
    std::vector<Step> steps;
    std::vector<Step> mains;
    std::optional<Difference> difference;
    for (const sim::Action action : actions) {
      PairSpace::Told told = space_.tell(state, action);
      steps.insert(steps.end(), told.installer.begin(), told.installer.end());
      mains.insert(mains.end(), told.mains.begin(), told.mains.end());
      difference = std::move(told.difference);
      state = std::move(told.after);
    }
    if (!difference) return std::nullopt;
    return killer_for(std::move(steps), std::move(mains), *difference);
  }

  /// Nothing when a run of it does not bear out what the search found.
  std::optional<Killer> killer_for(std::vector<Step> steps, std::vector<Step> mains,
                                   const Difference& difference) {
    Killer killer{start_.scenario, start_.from, start_.from_start, std::move(steps), difference};
    Scenario& scenario = killer.scenario;
    auto& script = scenario.people[0].script;
    script.insert(script.end(), killer.steps.begin(), killer.steps.end());
    if (!mains.empty()) add_person("mains", std::move(mains), scenario);
    add_look(difference, scenario);
    scenario.title = fmt::format("What tells '{}'", mutant_.what);
    scenario.about =
        fmt::format("Found by a hunt: at {} {}.{} is {}; with '{}' it is {}.", clock_text(difference.at),
                    scenario.site.name(difference.device), to_string(difference.fact), difference.wanted,
                    mutant_.what, difference.actual);
    if (!run(scenario).passed() || !kills(scenario, mutant_)) return std::nullopt;
    return killer;
  }

  static void add_look(const Difference& difference, Scenario& scenario) {
    Step look;
    look.kind = StepKind::expect;
    look.checks = {static_cast<std::uint32_t>(scenario.checks.size())};
    scenario.checks.push_back({difference.fact, difference.device, {difference.wanted}, false, {}});
    if (difference.at_end) {
      scenario.people[0].script.push_back(look);
      return;
    }
    look.at = difference.at;
    add_person("observer", {look}, scenario);
  }

  static void add_person(std::string name, std::vector<Step> script, Scenario& scenario) {
    const auto taken = [&](const Person& person) { return person.name == name; };
    while (std::any_of(scenario.people.begin(), scenario.people.end(), taken)) name += "'";
    scenario.people.push_back({std::move(name), scenario.people[0].place, std::move(script)});
  }

  const Start& start_;
  const Mutant& mutant_;
  Moves moves_;
  PairSpace space_;
};

}  // namespace

MutantHunt hunt_killer(const Mutant& mutant, std::span<const Scenario* const> scenarios,
                       const MutantHuntOptions& options) {
  MutantHunt hunt;
  const auto go_on_from = [&](const Start& start, const MoveBudget& budget, const sim::SearchBounds& bounds) {
    hunt.killer = PairHunt{start, mutant, budget}.find(bounds, hunt);
    return hunt.killer.has_value();
  };
  const std::vector<std::size_t> small = smallest_of_families(mutant, scenarios);
  for (const std::size_t i : small) {
    if (go_on_from({without_script(*scenarios[i]), i, true}, MoveBudget{}, options.plain)) return hunt;
  }
  hunt.exhausted = true;
  for (const std::size_t i : small) {
    if (go_on_from({without_script(*scenarios[i]), i, true}, budget_with_faults(), options.with_faults))
      return hunt;
  }
  for (std::size_t i = 0; i < scenarios.size(); ++i) {
    if (!concerns(mutant, scenarios[i]->site) || !can_be_installed(scenarios[i]->site)) continue;
    if (go_on_from({*scenarios[i], i, false}, budget_with_faults(), options.from_end)) return hunt;
  }
  hunt.exhausted = hunt.exhausted && hunt.starts > 0;
  return hunt;
}

}  // namespace drybus::model
