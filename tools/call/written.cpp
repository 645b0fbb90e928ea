#include "tools/call/written.h"

#include <yaml-cpp/emitter.h>

#include "model/words/words.h"

namespace drybus::tools {

namespace {

std::string sentence(const std::string& message, const std::string& expected, const std::string& suggestion) {
  return message + (expected.empty() ? "" : ": " + expected) +
         (suggestion.empty() ? std::string{} : model::tr("; did you mean '{}'?", suggestion));
}

}  // namespace

std::string in_quotes(std::string_view text) {
  YAML::Emitter out;
  out << YAML::DoubleQuoted << std::string{text};
  return out.c_str();
}

std::string in_a_sentence(const Problem& problem) {
  return sentence(problem.message, problem.expected, problem.suggestion);
}

std::string in_a_sentence(const QuantityError& error) {
  return sentence(error.message, error.expected, error.suggestion);
}

}  // namespace drybus::tools
