// How well diagnosis, checks and cures do on cases whose truth is known.
#pragma once

#include <vector>

#include "model/diagnosis/catalogue.h"
#include "model/diagnosis/placed_cause.h"
#include "tests/bench/diagnosis_cases.h"

namespace drybus::bench {

struct CaseScore {
  std::size_t rank = 0;    ///< of the first explanation that is right, from 1; 0: none is
  std::size_t checks = 0;  ///< that were asked before one explanation had 95 % or none was left
  bool isolated = false;   ///< and the one was right
  bool cured = false;      ///< by the plan for the report, and what it says should anything be amiss after it
  bool cured_first = false;    ///< without what it says in that case
  bool cured_checked = false;  ///< without that, by the plan for what was known after the checks
  double cure_minutes = 0;     ///< of the first plan
  double seconds = 0;          ///< of one core, for everything
  double diagnose_seconds = 0;
  double explored = 0;
};

/// Whether a cause is told that really was there: its kind, device or link, and the step where one was done otherwise.
bool names(const model::PlacedCause& told, const TrueCause& really);
/// All that really was there, and nothing else.
bool names_all(const std::vector<model::PlacedCause>& told, const std::vector<TrueCause>& really);

CaseScore score_case(const DiagnosisCase& of, const model::Catalogue& catalogue);

}  // namespace drybus::bench
