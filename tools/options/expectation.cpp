#include "tools/options/expectation.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <span>
#include <vector>

#include "model/record/describe.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/script/quantity.h"
#include "tools/script/words.h"

namespace drybus::tools {

namespace {

using model::Fact;

/// "DEVICE.FACT", "is" or "is not", and the value.
struct Parts {
  std::string subject;
  std::string value;
  bool negated = false;
};

std::string trimmed(std::string_view text) {
  const std::size_t first = text.find_first_not_of(' ');
  if (first == std::string_view::npos) return {};
  return std::string{text.substr(first, text.find_last_not_of(' ') - first + 1)};
}

Parts parts_of(const std::string& text) {
  // The longer of two that begin alike comes first.
  struct Relation {
    std::string_view words;
    bool negated;
  };
  for (const Relation relation :
       {Relation{" is not ", true}, Relation{" is ", false}, Relation{"!=", true}, Relation{"=", false}}) {
    const std::size_t at = text.find(relation.words);
    if (at == std::string::npos) continue;
    Parts parts{trimmed(text.substr(0, at)), trimmed(text.substr(at + relation.words.size())),
                relation.negated};
    if (!parts.subject.empty() && !parts.value.empty()) return parts;
  }
  throw Unusable{fmt::format(
      "'{}': expected what is so, such as 'M1.address is 23/4/1' or 'M1.mode is not setup'", text)};
}

std::vector<Fact> facts_of(bool plate) {
  if (plate) return {Fact::indicator, Fact::mode, Fact::channel, Fact::site, Fact::zone};
  return {Fact::indicator, Fact::load, Fact::mode, Fact::address, Fact::level,
          Fact::power_up,  Fact::site, Fact::zone, Fact::channel};
}

model::DeviceId device_of(const model::Scenario& scenario, const std::string& text, const std::string& name) {
  if (const auto device = scenario.site.find_device(name)) return *device;
  std::vector<std::string> names;
  for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
    names.push_back(scenario.site.name(static_cast<model::DeviceId>(i)));
  }
  throw Unusable{fmt::format("'{}': there is no device '{}' in this scenario.{} It has {}.", text, name,
                             did_you_mean(name, names), fmt::join(names, ", "))};
}

Fact fact_of(const std::string& text, bool plate, const std::string& word) {
  std::vector<std::string> right;
  for (const Fact fact : facts_of(plate)) {
    if (to_string(fact) == word) return fact;
    right.emplace_back(to_string(fact));
  }
  throw Unusable{fmt::format("'{}': a {} has no fact '{}'.{} It has {}.", text, plate ? "plate" : "module",
                             word, did_you_mean(word, right), fmt::join(right, ", "))};
}

std::string one_of(const std::string& text, const std::string& value,
                   std::span<const std::string_view> right) {
  if (std::find(right.begin(), right.end(), value) != right.end()) return value;
  const std::vector<std::string> known(right.begin(), right.end());
  throw Unusable{fmt::format("'{}': expected {} instead of '{}'.{}", text, fmt::join(right, ", "), value,
                             did_you_mean(value, known))};
}

std::string level_of(const std::string& text, const std::string& value) {
  const auto level = parse_percent(value);
  if (!level)
    throw Unusable{fmt::format("'{}': {}; expected {}", text, level.error().message, level.error().expected)};
  return model::percent_text(*level);
}

std::string number_of(const std::string& text, const std::string& value) {
  unsigned number = 0;
  const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), number);
  if (error == std::errc{} && end == value.data() + value.size() && number <= 255)
    return fmt::format("{}", number);
  throw Unusable{fmt::format("'{}': expected a whole number of 0 to 255 instead of '{}'", text, value)};
}

std::string address_of(const std::string& text, const std::string& value) {
  if (value == "none") return value;
  if (const auto address = model::parse_address(value)) return model::to_string(*address);
  throw Unusable{
      fmt::format("'{}': expected an address such as 23/4/1, or none, instead of '{}'", text, value)};
}

/// The value in the words that facts are told in, so that it can be compared with them.
std::string value_of(const std::string& text, Fact fact, const std::string& value) {
  switch (fact) {
    case Fact::indicator:
      return one_of(text, value, words::patterns());
    case Fact::mode:
      return one_of(text, value, words::modes());
    case Fact::power_up:
      return one_of(text, value, words::power_ups());
    case Fact::load:
      return value == "lit" || value == "dark" ? value : level_of(text, value);
    case Fact::level:
      return level_of(text, value);
    case Fact::address:
      return address_of(text, value);
    case Fact::channel:
    case Fact::site:
    case Fact::zone:
      return number_of(text, value);
    case Fact::findings:
      break;
  }
  return value;
}

}  // namespace

Expectation read_expectation(const model::Scenario& scenario, const std::string& text) {
  const Parts parts = parts_of(text);
  const std::size_t dot = parts.subject.find('.');
  if (dot == std::string::npos) {
    throw Unusable{
        fmt::format("'{}': which fact of '{}'? Such as {}.mode", text, parts.subject, parts.subject)};
  }
  Expectation expectation;
  expectation.negated = parts.negated;
  expectation.check.device = device_of(scenario, text, parts.subject.substr(0, dot));
  expectation.check.fact =
      fact_of(text, scenario.site.is_plate(expectation.check.device), parts.subject.substr(dot + 1));
  expectation.check.wanted = {value_of(text, expectation.check.fact, parts.value)};
  return expectation;
}

}  // namespace drybus::tools
