// Answers in a file, for replaying a dialogue.
#pragma once

#include <sstream>

#include "tools/commands/diagnose_dialogue.h"

namespace drybus::tools {

/// An answer on each line; empty lines and those that begin with # are passed by. Throws Unusable, with its
/// line, at one that is none of the answers offered.
class AnswerFile final : public Respondent {
 public:
  /// `name` is the file's. `quiet`: nothing is printed.
  AnswerFile(std::string name, std::string text, bool quiet)
      : name_(std::move(name)), quiet_(quiet), lines_(std::move(text)) {}

  [[nodiscard]] std::optional<std::string> answer(const std::string& question) override;
  [[nodiscard]] bool again(const std::string& complaint) override;
  void tell(const std::string& text) override;

 private:
  std::string name_;
  bool quiet_;
  std::istringstream lines_;
  std::size_t number_ = 0;
};

/// Throws Unusable when the file cannot be read.
AnswerFile read_answer_file(const std::string& path, bool quiet);

}  // namespace drybus::tools
