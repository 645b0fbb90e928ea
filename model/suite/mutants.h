// Device generations with one thing wrong in their tables, on purpose. A suite of scenarios is as good as the number of these
// that it notices. They are made by operators that know no family, and so for any family that somebody writes.
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/people/change.h"
#include "model/people/script.h"
#include "model/suite/same_machine.h"

namespace drybus::model {

/// One thing that is wrong in one family.
struct Mutant {
  std::string what;                      ///< "wired-keypad, module: line 70, 'normal, gesture held' dropped"
  std::string family;                    ///< the name of the only family that it alters
  std::function<void(Family&)> alter;    ///< of that family
  /// What it touches when it is in the rows: nothing else can differ then.
  std::optional<DeviceKind> rows_of = std::nullopt;
};

/// All mutants of a family, in a fixed order; no two have the same `what`: `mutants_of_rows`, `mutants_of_numbers`.
std::vector<Mutant> mutants_of(const Family& family);

/// Every row, condition, action, entry and exit of its machines dropped, turned round or put elsewhere, one at a time.
std::vector<Mutant> mutants_of_rows(const Family& family);

/// Every time a tick (0.1 s) and 10 % off, either way; what counts, is bound or is remembered one off.
std::vector<Mutant> mutants_of_numbers(const Family& family);

/// Whether any device of the site is of the family that the mutant alters.
bool concerns(const Mutant& mutant, const Site& site);

/// The scenario with the mutant's devices.
Scenario altered_by(const Mutant& mutant, Scenario scenario);

/// Whether a check of the scenario fails, or its script does not come to its end, with the mutant's devices.
bool kills(const Scenario& scenario, const Mutant& mutant);

/// The first of the scenarios that kills it; nothing when it survives them all.
std::optional<std::size_t> killer_of(const Mutant& mutant, std::span<const Scenario* const> scenarios);

/// A check that would notice a mutant, had a scenario had it.
struct MissingCheck {
  std::size_t scenario = 0;
  StepRef before;  ///< the step of the scenario that it would come before; one past the last: at the end
  sim::Instant at{};
  Check check;         ///< what the family's devices make of it
  std::string actual;  ///< what the mutant does
};

/// The first point at which some fact of some device, looked at before each step of the installer's and at
/// the end, is not as with the family; nothing when all the scenarios go alike with the mutant.
std::optional<MissingCheck> missing_check(const Mutant& mutant, std::span<const Scenario* const> scenarios);

}  // namespace drybus::model
