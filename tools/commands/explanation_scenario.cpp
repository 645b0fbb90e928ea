#include "tools/commands/explanation_scenario.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "model/diagnosis/unchanged.h"
#include "model/run/run.h"
#include "model/words/words.h"

namespace drybus::tools {

namespace {

using model::Scenario;
using model::Seen;
using model::Step;
using model::StepKind;

/// Observations, put in as steps of looking; how each is to be looked for can be changed from run to run.
class Looks {
 public:
  explicit Looks(const model::Report& report) : report_(report), as_(report.seen.size(), StepKind::see) {
    for (std::size_t i = 0; i < report.seen.size(); ++i) {
      wanted_.push_back(report.seen[i].what);
      // In a scenario it is lit or dark, whichever.
      if (wanted_.back() == model::as_it_was) as_[i] = StepKind::expect;
    }
  }

  /// The account with the looks in it, each observation as check number i.
  [[nodiscard]] Scenario scenario(const model::Account& account) const {
    Scenario believed = report_.believed;
    believed.checks.clear();
    for (std::size_t i = 0; i < report_.seen.size(); ++i) {
      const Seen& seen = report_.seen[i];
      believed.checks.push_back({seen.fact, seen.device, {wanted_[i]}, as_[i] == StepKind::see, seen.mark});
    }
    model::Changes changes;
    const auto steps = static_cast<std::uint32_t>(believed.people.front().script.size());
    for (std::uint32_t before = 0; before <= steps; ++before) {
      for (const StepKind kind : {StepKind::see, StepKind::expect}) put_in(before, steps, kind, changes);
    }
    changes.insert(changes.end(), account.changes.begin(), account.changes.end());
    return model::Altered{believed, changes}.scenario();
  }

  /// Runs it and turns every look that fails into what really shows.
  void settle(const model::Account& account) {
    for (const model::CheckResult& check : model::run(scenario(account)).checks) {
      if (!check.passed) as_[check.check] = StepKind::expect;
    }
    for (const model::CheckResult& check : model::run(scenario(account)).checks) {
      if (!check.passed) wanted_[check.check] = check.actual;
    }
  }

 private:
  void put_in(std::uint32_t before, std::uint32_t steps, StepKind kind, model::Changes& changes) const {
    std::vector<Look> looks;
    for (std::uint32_t i = 0; i < report_.seen.size(); ++i) {
      const Seen& seen = report_.seen[i];
      const std::uint32_t there = seen.after_step ? *seen.after_step + 1 : steps;
      if (there != before || as_[i] != kind) continue;
      Look& look = look_for(seen, looks);
      look.step.kind = kind;
      look.step.checks.push_back(i);
      if (wanted_[i] == seen.what || seen.what == model::as_it_was) continue;
      look.otherwise += fmt::format("{}{} was reported", look.otherwise.empty() ? "" : "; ",
                                    describe(report_.believed.site, seen));
    }
    std::vector<Step> told;
    for (Look& look : looks) {
      look.step.text = std::move(look.otherwise);
      told.push_back(std::move(look.step));
    }
    if (!told.empty()) changes.push_back(model::change::Insert{{0, before}, std::move(told)});
  }

  struct Look {
    Step step;
    std::string otherwise;  ///< what was reported of it, where the explanation has it otherwise
  };

  /// The first of the looks that does not look at the same thing already: a step has one statement on each fact,
  /// and somebody may have told two.
  Look& look_for(const Seen& seen, std::vector<Look>& looks) const {
    for (Look& look : looks) {
      const auto& checks = look.step.checks;
      const bool known = std::any_of(checks.begin(), checks.end(), [&](std::uint32_t other) {
        return report_.seen[other].device == seen.device && report_.seen[other].fact == seen.fact;
      });
      if (!known) return look;
    }
    return looks.emplace_back();
  }

  const model::Report& report_;
  std::vector<StepKind> as_;
  std::vector<std::string> wanted_;
};

}  // namespace

LoadedScenario explanation_scenario(const LoadedReport& loaded, const model::RankedExplanation& explanation,
                                    std::size_t number) {
  const model::Speaking as_written{nullptr};
  const model::Account& account = explanation.ways.front();
  Looks looks{loaded.report};
  looks.settle(account);
  LoadedScenario written = loaded.told;
  written.scenario = looks.scenario(account);
  written.scenario.title = fmt::format("{}: explanation {}", loaded.told.scenario.title, number);
  written.scenario.about =
      fmt::format("Probability {:.1f} %. {}\n", explanation.probability * 100, explanation.written);
  return written;
}

}  // namespace drybus::tools
