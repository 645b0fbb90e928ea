// Where answers come from and where questions go.
#pragma once

#include <optional>
#include <string>

namespace drybus::tools {

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

}  // namespace drybus::tools
