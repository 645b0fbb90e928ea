#include "tools/export/record_reader.h"

#include <fmt/format.h>

#include <algorithm>
#include <boost/json.hpp>

#include "model/words/words.h"

namespace drybus::tools {

using model::in_words_spoken;
using model::msg;
using model::tr;

namespace json = boost::json;

namespace {

/// What keeps a line from being an entry; column 0 is unknown.
struct Flaw {
  std::string message;
  std::string expected;
};

constexpr std::size_t max_line_bytes = 65'536;
constexpr std::string_view keys = msg("the keys id, at_ns, kind, who, a, b, cause, because and text");

std::string text_of(const json::object& object, std::string_view key) {
  const json::value* value = object.if_contains(key);
  if (value == nullptr)
    throw Flaw{tr("an entry lacks the key '{}'", key), std::string{in_words_spoken(keys)}};
  if (!value->is_string()) throw Flaw{tr("'{}' is no text", key), tr("a text in quotes")};
  return std::string{value->as_string()};
}

std::uint64_t number_of(const json::object& object, std::string_view key) {
  const json::value* value = object.if_contains(key);
  if (value == nullptr)
    throw Flaw{tr("an entry lacks the key '{}'", key), std::string{in_words_spoken(keys)}};
  boost::system::error_code error;
  const auto number = value->to_number<std::uint64_t>(error);
  if (error) throw Flaw{tr("'{}' is no whole number", key), tr("a whole number, 0 or more")};
  return number;
}

ToldEntry entry_of(std::string_view line) {
  if (line.size() > max_line_bytes)
    throw Flaw{tr("the line is too long"), tr("at most {} bytes", max_line_bytes)};
  boost::system::error_code error;
  const json::value value = json::parse(line, error, {}, {.max_depth = 4});
  if (error || !value.is_object())
    throw Flaw{tr("this is no entry of a record"), tr("one JSON object a line, as --record writes it")};
  const json::object& object = value.get_object();
  ToldEntry entry;
  entry.id = number_of(object, "id");
  entry.at_ns = static_cast<std::int64_t>(number_of(object, "at_ns") & 0x7fff'ffff'ffff'ffff);
  entry.kind = text_of(object, "kind");
  entry.who = text_of(object, "who");
  entry.a = number_of(object, "a");
  entry.b = number_of(object, "b");
  entry.cause = number_of(object, "cause");
  entry.because = number_of(object, "because");
  entry.text = text_of(object, "text");
  return entry;
}

void check_order(const ToldEntry& entry, const std::vector<ToldEntry>& before) {
  if (entry.id != before.size() + 1) {
    throw Flaw{tr("entry {} stands where entry {} belongs", entry.id, before.size() + 1),
               tr("ids from 1, without gaps")};
  }
  if (entry.cause >= entry.id || entry.because >= entry.id)
    throw Flaw{tr("a cause is no earlier entry"), tr("the id of an earlier line, or 0")};
  if (!before.empty() && entry.at_ns < before.back().at_ns)
    throw Flaw{tr("time runs back"), tr("times that never fall")};
}

Problem problem_of(const Flaw& flaw, const std::string& file, std::uint32_t number, std::string_view line) {
  Problem problem;
  problem.file = file;
  problem.line = number;
  problem.column = 1;
  problem.message = flaw.message;
  problem.expected = flaw.expected;
  for (const char c : line.substr(0, 100)) problem.line_text += c >= 0x20 && c < 0x7f ? c : '?';
  return problem;
}

}  // namespace

Reading<std::vector<ToldEntry>> read_record_lines(std::string_view text, const std::string& file) {
  std::vector<ToldEntry> entries;
  std::uint32_t number = 0;
  while (!text.empty()) {
    ++number;
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    try {
      ToldEntry entry = entry_of(line);
      check_order(entry, entries);
      entries.push_back(std::move(entry));
    } catch (const Flaw& flaw) {
      return std::vector<Problem>{problem_of(flaw, file, number, line)};
    }
  }
  if (entries.empty())
    return std::vector<Problem>{
        problem_of({tr("the record is empty"), tr("one JSON object a line")}, file, 1, "")};
  return entries;
}

}  // namespace drybus::tools
