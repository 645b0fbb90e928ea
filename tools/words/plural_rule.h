// Which of a language's forms a count takes, by the formula of its catalogue.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace drybus::tools {

/// An expression of C in n, as GNU gettext has it ("Plural forms"): numbers of whole n, + - * / %, comparisons, && || !, ?: and
/// parentheses.
class PluralRule {
 public:
  /// Throws std::invalid_argument where it is none.
  explicit PluralRule(std::string_view formula);

  /// The number of the form, from 0 on. What is divided by nothing is 0.
  [[nodiscard]] std::uint64_t form(std::uint64_t n) const;
  [[nodiscard]] const std::string& formula() const { return formula_; }

 private:
  std::string formula_;
};

}  // namespace drybus::tools
