// Checks one after another: question, answer, narrowed list, until one explanation is sure enough.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "model/diagnosis/next_check.h"

namespace drybus::tools {

/// Where answers come from and where questions go.
class Respondent {
 public:
  /// Nothing: there are no more answers.
  [[nodiscard]] virtual std::optional<std::string> answer(const std::string& question) = 0;
  /// The answer was none of those offered. False: it cannot be given again.
  [[nodiscard]] virtual bool again(const std::string& complaint) = 0;
  virtual void tell(const std::string& text) = 0;

 protected:
  ~Respondent() = default;
};

struct AskedCheck {
  model::SiteCheck check;
  std::string outcome;  ///< empty: it could not be made
};

/// Asks until the first explanation has `enough`, no check tells more, or there are no more answers.
std::vector<AskedCheck> ask(const model::Report& report, const model::Catalogue& catalogue,
                            model::Diagnosis& diagnosis, Respondent& respondent, double enough = 0.95);

}  // namespace drybus::tools
