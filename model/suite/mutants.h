// Wrong device logic on purpose: each mutant is the reference model with one thing out of order. A suite of
// scenarios is as good as the number of mutants that it notices.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "model/people/change.h"
#include "model/people/script.h"
#include "model/site/device_logic.h"

namespace drybus::model {

/// One thing that is wrong. What is null is as in the reference model.
struct Mutant {
  std::string what;
  std::function<void(Family&)> family = nullptr;  ///< leaves alone what is of another family than it means
  void (*plate)(const Family&, Stimulus, PlateState&, Effects&) = nullptr;
  void (*module)(const Family&, Stimulus, ModuleState&, Effects&) = nullptr;
  void (*module_lost_power)(const Family&, const ModuleState& before, ModuleState& left) = nullptr;
  /// Why no scenario can notice it; empty where one can.
  std::string_view unseen = {};
};

/// All mutants, in a fixed order; no two have the same `what`.
std::span<const Mutant> mutants();

/// Every row, condition, action, entry and exit of a family's machines dropped, turned round or put elsewhere, one at a time.
/// Each leaves families of another name alone.
std::vector<Mutant> mutants_of_rows(const Family& family);

/// Whether a check of the scenario fails, or its script does not come to its end, with the mutant's logic.
bool kills(const Scenario& scenario, const Mutant& mutant);

/// The first of the scenarios that kills it; nothing when it survives them all.
std::optional<std::size_t> killer_of(const Mutant& mutant, std::span<const Scenario* const> scenarios);

/// A check that would notice a mutant, had a scenario had it.
struct MissingCheck {
  std::size_t scenario = 0;
  StepRef before;  ///< the step of the scenario that it would come before; one past the last: at the end
  sim::Instant at{};
  Check check;         ///< what the reference model makes of it
  std::string actual;  ///< what the mutant does
};

/// The first point at which some fact of some device, looked at before each step of the installer's and at
/// the end, is not as in the reference model; nothing when all the scenarios go alike with the mutant.
std::optional<MissingCheck> missing_check(const Mutant& mutant, std::span<const Scenario* const> scenarios);

}  // namespace drybus::model
