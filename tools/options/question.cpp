#include "tools/options/question.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <set>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "tools/base/nearest.h"
#include "tools/base/unusable.h"
#include "tools/script/fact_value.h"
#include "tools/script/quantity.h"
#include "tools/script/words.h"

namespace drybus::tools {

using model::tr;

namespace {

/// "3:42.1": parts of sixty, the last with decimals.
std::optional<sim::Duration> parse_colons(std::string_view text) {
  std::int64_t whole = 0;
  for (std::size_t colon = text.find(':'); colon != std::string_view::npos; colon = text.find(':')) {
    std::int64_t part = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + colon, part);
    if (error != std::errc{} || end != text.data() + colon || part < 0 || whole > 1'000'000 ||
        part > 1'000'000) {
      return std::nullopt;
    }
    whole = (whole + part) * 60;
    text.remove_prefix(colon + 1);
  }
  const auto seconds = parse_duration(std::string{text} + "s");
  if (!seconds) return std::nullopt;
  return std::chrono::seconds{whole} + *seconds;
}

std::vector<std::string> device_names(const model::Scenario& scenario) {
  std::vector<std::string> names;
  for (std::size_t i = 0; i < scenario.site.device_count(); ++i) {
    names.push_back(scenario.site.name(static_cast<model::DeviceId>(i)));
  }
  return names;
}

model::WhyQuestion question_of_fact(const model::Scenario& scenario, const std::string& asked,
                                    std::size_t dot) {
  const std::string device_word = asked.substr(0, dot);
  const std::string fact_word = asked.substr(dot + 1);
  const auto device = scenario.site.find_device(device_word);
  if (!device) {
    const std::vector<std::string> names = device_names(scenario);
    throw Unusable{tr("'{}': there is no device '{}' in this scenario.{} It has {}.", asked, device_word,
                      did_you_mean(device_word, names), fmt::format("{}", fmt::join(names, ", ")))};
  }
  std::vector<std::string> right;
  for (const model::Fact fact : facts_of(scenario.site.is_plate(*device))) {
    right.emplace_back(to_string(fact));
    if (to_string(fact) != fact_word) continue;
    model::WhyQuestion question;
    question.device = *device;
    question.fact = fact;
    return question;
  }
  const std::string near = did_you_mean(fact_word, right);
  const std::string all = fmt::format("{}", fmt::join(right, ", "));
  throw Unusable{scenario.site.is_plate(*device)
                     ? tr("'{}': a plate has no fact '{}'.{} It has {}.", asked, fact_word, near, all)
                     : tr("'{}': a module has no fact '{}'.{} It has {}.", asked, fact_word, near, all)};
}

model::WhyQuestion question_of_finding(const model::Counterfactual& runs, const std::string& asked,
                                       const std::optional<sim::Instant>& at) {
  const auto id = model::parse_finding(asked);
  if (!id) {
    std::vector<std::string> known(words::findings().begin(), words::findings().end());
    for (const std::string& name : device_names(runs.scenario())) known.push_back(name + ".address");
    throw Unusable{tr("'{}' is neither DEVICE.FACT (such as {}.{}) nor the id of a finding.{}", asked,
                      device_names(runs.scenario()).back(), "address", did_you_mean(asked, known))};
  }
  std::set<std::string_view> found;
  for (const auto& each : runs.actual().watch.observations(runs.scenario(), runs.actual().world)) {
    found.insert(to_string(each.id));
    const bool then =
        !at || (each.at <= *at + model::finding_slack && each.until.value_or(sim::never) >= *at);
    if (each.id != *id || !then) continue;
    model::WhyQuestion question;
    question.device = each.devices.front();
    question.finding = id;
    question.from = each.at;
    question.until = each.until;
    if (model::is_made_together(*id)) question.among = each.devices;
    return question;
  }
  const std::string others =
      found.empty() ? tr("it has none") : tr("it has {}", fmt::format("{}", fmt::join(found, ", ")));
  throw Unusable{
      at ? tr("there is no finding {} in this run at {}; {}", asked, model::clock_text(*at), others)
         : tr("there is no finding {} in this run; {}", asked, others)};
}

std::optional<sim::Instant> read_moment(const model::Counterfactual& runs,
                                        const std::optional<std::string>& text) {
  if (!text) return std::nullopt;
  const auto at = parse_clock(*text);
  if (!at) throw Unusable{tr("--at {}: expected a time on the run's clock, such as 222s or 3:42.1", *text)};
  const sim::Instant end = runs.actual().world.now;
  if (*at > end) {
    throw Unusable{tr("--at {}: the run goes from 0:00.0 to {}", *text, model::clock_text(end))};
  }
  return at;
}

}  // namespace

std::optional<sim::Instant> parse_clock(std::string_view text) {
  if (text.find(':') != std::string_view::npos) {
    const auto time = parse_colons(text);
    return time ? std::optional{sim::start_of_run + *time} : std::nullopt;
  }
  const auto duration = parse_duration(text);
  return duration ? std::optional{sim::start_of_run + *duration} : std::nullopt;
}

model::WhyQuestion read_question(const model::Counterfactual& runs, const std::string& asked,
                                 const std::optional<std::string>& at_text) {
  if (runs.unfinished()) {
    throw Unusable{tr("the script is not over after {}", model::duration_text(model::default_run_bound))};
  }
  const auto at = read_moment(runs, at_text);
  const std::size_t dot = asked.find('.');
  if (dot == std::string::npos) return question_of_finding(runs, asked, at);
  model::WhyQuestion question = question_of_fact(runs.scenario(), asked, dot);
  question.at = at;
  return question;
}

}  // namespace drybus::tools
