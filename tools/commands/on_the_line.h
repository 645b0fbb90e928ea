// Somebody at the terminal, or lines that come down a pipe.
#pragma once

#include "tools/call/respondent.h"

namespace drybus::tools {

class OnTheLine final : public Respondent {
 public:
  /// `quiet`: nothing is printed, and nobody at a terminal is asked.
  explicit OnTheLine(bool quiet) : quiet_(quiet) {}

  [[nodiscard]] std::optional<std::string> answer(const std::string& question) override;
  [[nodiscard]] bool again(const std::string& complaint) override;
  void tell(const std::string& text) override;

 private:
  bool quiet_;
};

}  // namespace drybus::tools
