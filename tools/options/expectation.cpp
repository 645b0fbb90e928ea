#include "tools/options/expectation.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <vector>

#include "model/words/words.h"
#include "tools/base/nearest.h"
#include "tools/base/trimmed.h"
#include "tools/base/unusable.h"
#include "tools/script/fact_value.h"

namespace drybus::tools {

using model::tr;

namespace {

using model::Fact;

/// "DEVICE.FACT", "is" or "is not", and the value.
struct Parts {
  std::string subject;
  std::string value;
  bool negated = false;
};

Parts parts_of(std::string_view text) {
  // The longer of two that begin alike comes first.
  struct Relation {
    std::string_view words;
    bool negated;
  };
  for (const Relation relation :
       {Relation{" is not ", true}, Relation{" is ", false}, Relation{"!=", true}, Relation{"=", false}}) {
    const std::size_t at = text.find(relation.words);
    if (at == std::string_view::npos) continue;
    Parts parts{std::string{trimmed(text.substr(0, at))},
                std::string{trimmed(text.substr(at + relation.words.size()))}, relation.negated};
    if (!parts.subject.empty() && !parts.value.empty()) return parts;
  }
  throw Unusable{
      tr("'{}': expected what is so, such as 'M1.address is 23/4/1' or 'M1.mode is not setup'", text)};
}

model::DeviceId device_of(const model::Scenario& scenario, const std::string& text, const std::string& name) {
  if (const auto device = scenario.site.find_device(name)) return *device;
  std::vector<std::string> names;
  for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
    names.push_back(scenario.site.name(static_cast<model::DeviceId>(i)));
  }
  throw Unusable{tr("'{}': there is no device '{}' in this scenario.{} It has {}.", text, name,
                    did_you_mean(name, names), fmt::format("{}", fmt::join(names, ", ")))};
}

Fact fact_of(const std::string& text, bool plate, const std::string& word) {
  std::vector<std::string> right;
  for (const Fact fact : facts_of(plate)) {
    if (to_string(fact) == word) return fact;
    right.emplace_back(to_string(fact));
  }
  const std::string near = did_you_mean(word, right);
  throw Unusable{plate ? tr("'{}': a plate has no fact '{}'.{} It has {}.", text, word, near,
                            fmt::format("{}", fmt::join(right, ", ")))
                       : tr("'{}': a module has no fact '{}'.{} It has {}.", text, word, near,
                            fmt::format("{}", fmt::join(right, ", ")))};
}

}  // namespace

Expectation read_expectation(const model::Scenario& scenario, const std::string& text) {
  const Parts parts = parts_of(text);
  const std::size_t dot = parts.subject.find('.');
  if (dot == std::string::npos) {
    throw Unusable{tr("'{}': which fact of '{}'? Such as {}.mode", text, parts.subject, parts.subject)};
  }
  Expectation expectation;
  expectation.negated = parts.negated;
  expectation.check.device = device_of(scenario, text, parts.subject.substr(0, dot));
  const bool plate = scenario.site.is_plate(expectation.check.device);
  expectation.check.fact = fact_of(text, plate, parts.subject.substr(dot + 1));
  const auto value =
      parse_fact_value(scenario.site, expectation.check.device, expectation.check.fact, parts.value);
  if (!value) throw Unusable{refusal(text, value.error())};
  expectation.check.wanted = {*value};
  return expectation;
}

}  // namespace drybus::tools
