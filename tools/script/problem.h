// What is wrong with a text that somebody wrote: where, what was expected, and the nearest right word.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace drybus::tools {

/// One thing wrong with a file. Lines and columns count from 1, columns in characters; line 0: the file as a
/// whole.
struct Problem {
  std::string file;
  std::uint32_t line = 0;
  std::uint32_t column = 0;
  std::string message;
  std::string expected;      ///< "a time with its unit, such as 200 s"; may be empty
  std::string suggestion;    ///< the nearest right word; may be empty
  std::string line_text;     ///< the offending line, harmless on a terminal
  std::uint32_t length = 1;  ///< characters to be underlined
};

/// One problem as people read it, with a line feed at its end:
///
///     x.yaml:12:1: unknown key 'scripp'
///        12 | scripp:
///           | ^^^^^^
///        expected one of: about, bus, family   did you mean 'script'?
std::string to_text(const Problem& problem);

/// All of them, one after another.
std::string to_text(const std::vector<Problem>& problems);

/// What was read, or everything that was wrong with it.
template <class Value>
class Reading {
 public:
  Reading(Value value) : content_(std::move(value)) {}
  /// REQUIRES: not empty.
  Reading(std::vector<Problem> problems) : content_(std::move(problems)) {}

  [[nodiscard]] bool ok() const { return content_.index() == 0; }
  explicit operator bool() const { return ok(); }

  /// REQUIRES: ok().
  [[nodiscard]] Value& value() { return std::get<0>(content_); }
  [[nodiscard]] const Value& value() const { return std::get<0>(content_); }
  /// REQUIRES: !ok(). Sorted by place.
  [[nodiscard]] const std::vector<Problem>& problems() const { return std::get<1>(content_); }

 private:
  std::variant<Value, std::vector<Problem>> content_;
};

}  // namespace drybus::tools
