#include "tools/words/plural_rule.h"

#include <fmt/format.h>

#include <array>
#include <span>
#include <stdexcept>
#include <vector>

namespace drybus::tools {

namespace {

/// Reads a formula and works it out on the way; what a condition leaves out is read all the same.
class Reading {
 public:
  Reading(std::string_view formula, std::uint64_t n) : formula_(formula), rest_(formula), n_(n) {}

  std::uint64_t whole() {
    const std::uint64_t value = choice();
    skip_blanks();
    if (!rest_.empty()) fail();
    return value;
  }

 private:
  struct Level {
    std::vector<std::string_view> signs;
  };

  [[noreturn]] void fail() const {
    throw std::invalid_argument{fmt::format("no plural formula: {}", formula_)};
  }

  void skip_blanks() {
    while (!rest_.empty() && rest_.front() == ' ') rest_.remove_prefix(1);
  }

  bool take(std::string_view sign) {
    skip_blanks();
    if (!rest_.starts_with(sign)) return false;
    // "<" is not the beginning of "<=", nor "!" of "!=".
    if (sign.size() == 1 && std::string_view{"<>!="}.find(sign) != std::string_view::npos &&
        rest_.size() > 1 && rest_[1] == '=')
      return false;
    rest_.remove_prefix(sign.size());
    return true;
  }

  std::uint64_t choice() {
    const std::uint64_t condition = binary(0);
    if (!take("?")) return condition;
    const std::uint64_t yes = choice();
    if (!take(":")) fail();
    const std::uint64_t no = choice();
    return condition != 0 ? yes : no;
  }

  std::uint64_t binary(std::size_t level) {
    static const std::array<Level, 6> levels{Level{{"||"}},       Level{{"&&"}},
                                             Level{{"==", "!="}}, Level{{"<=", ">=", "<", ">"}},
                                             Level{{"+", "-"}},   Level{{"*", "/", "%"}}};
    if (level == levels.size()) return unary();
    std::uint64_t left = binary(level + 1);
    for (bool found = true; found;) {
      found = false;
      for (const std::string_view sign : levels[level].signs) {
        if (!take(sign)) continue;
        left = applied(sign, left, binary(level + 1));
        found = true;
        break;
      }
    }
    return left;
  }

  static std::uint64_t applied(std::string_view sign, std::uint64_t a, std::uint64_t b) {
    if (sign == "||") return a != 0 || b != 0 ? 1 : 0;
    if (sign == "&&") return a != 0 && b != 0 ? 1 : 0;
    if (sign == "==") return a == b ? 1 : 0;
    if (sign == "!=") return a != b ? 1 : 0;
    if (sign == "<=") return a <= b ? 1 : 0;
    if (sign == ">=") return a >= b ? 1 : 0;
    if (sign == "<") return a < b ? 1 : 0;
    if (sign == ">") return a > b ? 1 : 0;
    if (sign == "+") return a + b;
    if (sign == "-") return a - b;
    if (sign == "*") return a * b;
    if (b == 0) return 0;
    return sign == "/" ? a / b : a % b;
  }

  std::uint64_t unary() {
    if (++depth_ > most_depth) fail();
    const std::uint64_t value = take("!") ? (unary() == 0 ? 1 : 0) : operand();
    --depth_;
    return value;
  }

  std::uint64_t operand() {
    if (take("(")) {
      const std::uint64_t inside = choice();
      if (!take(")")) fail();
      return inside;
    }
    if (take("n")) return n_;
    std::uint64_t value = 0;
    std::size_t digits = 0;
    for (; !rest_.empty() && rest_.front() >= '0' && rest_.front() <= '9'; rest_.remove_prefix(1), ++digits)
      value = value * 10 + static_cast<std::uint64_t>(rest_.front() - '0');
    if (digits == 0 || digits > 9) fail();
    return value;
  }

  static constexpr int most_depth = 100;
  std::string_view formula_;
  std::string_view rest_;
  std::uint64_t n_;
  int depth_ = 0;
};

}  // namespace

PluralRule::PluralRule(std::string_view formula) : formula_(formula) {
  (void)form(0);
}

std::uint64_t PluralRule::form(std::uint64_t n) const {
  return Reading{formula_, n}.whole();
}

}  // namespace drybus::tools
