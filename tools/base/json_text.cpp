#include "tools/base/json_text.h"

#include <fmt/format.h>

#include <cmath>

#include "tools/base/utf8.h"

namespace drybus::tools {

namespace json = boost::json;

namespace {

void append(std::string& text, const json::value& value);
void append(std::string& text, std::string_view word);

void append(std::string& text, const json::array& array) {
  char before = '[';
  for (const json::value& item : array) {
    text += before;
    append(text, item);
    before = ',';
  }
  text += array.empty() ? "[]" : "]";
}

void append(std::string& text, const json::object& object) {
  char before = '{';
  for (const json::key_value_pair& member : object) {
    text += before;
    append(text, std::string_view{member.key()});
    text += ':';
    append(text, member.value());
    before = ',';
  }
  text += object.empty() ? "{}" : "}";
}

/// JSON is UTF-8, whatever a file's name is.
void append(std::string& text, std::string_view word) {
  text += json::serialize(json::string_view{as_utf8(word)});
}

/// The shortest decimal that reads back as the same number.
void append(std::string& text, double number) {
  text += std::isfinite(number) ? fmt::format("{}", number) : "null";
}

void append(std::string& text, const json::value& value) {
  switch (value.kind()) {
    case json::kind::object:
      return append(text, value.get_object());
    case json::kind::array:
      return append(text, value.get_array());
    case json::kind::double_:
      return append(text, value.get_double());
    case json::kind::null:
    case json::kind::bool_:
    case json::kind::int64:
    case json::kind::uint64:
      text += json::serialize(value);
      return;
    case json::kind::string:
      return append(text, std::string_view{value.get_string()});
  }
}

}  // namespace

std::string json_text(const json::value& value) {
  std::string text;
  append(text, value);
  return text;
}

boost::json::array texts(std::span<const std::string> all) {
  boost::json::array array;
  for (const std::string& each : all) array.emplace_back(each);
  return array;
}

}  // namespace drybus::tools
