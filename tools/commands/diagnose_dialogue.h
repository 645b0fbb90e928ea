// Checks one after another: question, answer, narrowed list, until one explanation is sure enough.
#pragma once

#include <string>
#include <vector>

#include "model/diagnosis/next_check.h"
#include "tools/call/respondent.h"

namespace drybus::tools {

struct AskedCheck {
  model::SiteCheck check;
  std::string outcome;  ///< empty: it could not be made
};

/// Asks until the first explanation has `enough`, no check tells more, or there are no more answers.
std::vector<AskedCheck> ask(const model::Report& report, const model::Catalogue& catalogue,
                            model::Diagnosis& diagnosis, Respondent& respondent, double enough = 0.95);

}  // namespace drybus::tools
