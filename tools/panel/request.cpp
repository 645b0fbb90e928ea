#include "tools/panel/request.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "model/words/words.h"
#include "tools/base/utf8.h"
#include "tools/panel/exact_seconds.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;

namespace {

constexpr std::size_t deepest = 8;
constexpr std::size_t longest_ref = 64;

[[noreturn]] void misunderstood(const std::string& why) {
  throw Refused{RefusalCode::message, why};
}

json::object parsed(std::string_view text) {
  if (text.size() > most_message_bytes) {
    misunderstood(tr("A message has at most {} bytes.", most_message_bytes));
  }
  json::parse_options options;
  options.max_depth = deepest;
  json::error_code error;
  json::value value = json::parse(text, error, {}, options);
  if (error) misunderstood(tr("This is no JSON: {}.", error.message()));
  if (!value.is_object()) misunderstood(tr("A message is a JSON object."));
  return std::move(value.get_object());
}

bool is_fit_for_ref(const json::value& value) {
  return value.is_int64() || value.is_uint64() ||
         (value.is_string() && value.get_string().size() <= longest_ref);
}

}  // namespace

Request::Request(std::string_view text) : object_(parsed(text)) {
  if (const json::value* ref = object_.if_contains("ref")) {
    if (!is_fit_for_ref(*ref)) misunderstood(tr("'ref' is a whole number or a short string."));
    ref_ = *ref;
  }
  const json::value* verb = object_.if_contains("do");
  if (verb == nullptr || !verb->is_string()) misunderstood(tr("A message says in 'do' what is to be done."));
  verb_ = verb->get_string().c_str();
}

void Request::allow(std::initializer_list<std::string_view> keys) const {
  for (const json::key_value_pair& member : object_) {
    const std::string_view key{member.key().data(), member.key().size()};
    if (key == "do" || key == "ref" || std::find(keys.begin(), keys.end(), key) != keys.end()) continue;
    misunderstood(tr("'{}' knows no '{}'.", harmless(verb_.substr(0, 32)), harmless(key.substr(0, 32))));
  }
}

const json::value& Request::need(std::string_view key) const {
  const json::value* value = object_.if_contains(key);
  if (value == nullptr) misunderstood(tr("'{}' is missing.", key));
  return *value;
}

std::string Request::text(std::string_view key, std::size_t most) const {
  const json::value& value = need(key);
  if (!value.is_string()) misunderstood(tr("'{}' is a text.", key));
  std::string text{value.get_string().data(), value.get_string().size()};
  const bool odd = first_bad_character(text) || text.find_first_of("\t\n\r") != std::string::npos;
  if (odd) misunderstood(tr("'{}' has a character that cannot stand in a text.", key));
  if (text.empty() || character_count(text) > most) {
    misunderstood(tr("'{}' has 1 to {} characters.", key, most));
  }
  return text;
}

bool Request::truth(std::string_view key) const {
  const json::value& value = need(key);
  if (!value.is_bool()) misunderstood(tr("'{}' is true or false.", key));
  return value.get_bool();
}

double Request::number(std::string_view key, double least, double most) const {
  const json::value& value = need(key);
  json::error_code error;
  const double number = value.to_number<double>(error);
  if (error || !std::isfinite(number) || number < least || number > most) {
    misunderstood(tr("'{}' is a number from {} to {}.", key, least, most));
  }
  return number;
}

std::uint32_t Request::whole(std::string_view key, std::uint32_t least, std::uint32_t most) const {
  const json::value& value = need(key);
  json::error_code error;
  const auto number = value.to_number<std::int64_t>(error);
  if (error || number < least || number > most) {
    misunderstood(tr("'{}' is a whole number from {} to {}.", key, least, most));
  }
  return static_cast<std::uint32_t>(number);
}

sim::Duration Request::seconds(std::string_view key, sim::Duration least, sim::Duration most) const {
  const double number = this->number(key, exact_seconds(least), exact_seconds(most));
  return std::clamp(sim::Duration{std::llround(number * 1e9)}, least, most);
}

std::vector<std::string> Request::words(std::string_view key, std::size_t most) const {
  const json::value& value = need(key);
  if (!value.is_array() || value.get_array().empty() || value.get_array().size() > most) {
    misunderstood(tr("'{}' is a list of 1 to {} words.", key, most));
  }
  std::vector<std::string> words;
  for (const json::value& word : value.get_array()) {
    if (!word.is_string()) misunderstood(tr("'{}' is a list of words.", key));
    words.emplace_back(word.get_string().data(), word.get_string().size());
  }
  return words;
}

}  // namespace drybus::tools
