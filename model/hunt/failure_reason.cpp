// Why a scenario fails, and how that came about: what a smaller one has to keep.
#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>

#include "model/hunt/shrink.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

RunResult plain_run(const Scenario& scenario) {
  RunOptions options;
  options.plain = true;
  return run(scenario, options);
}

std::string name_of(const Scenario& scenario, DeviceId device) {
  return device == no_device ? std::string{} : scenario.site.name(device);
}

/// An entry that tells one way of coming about from another; empty for those that only lie on the way.
std::string link_of(const Scenario& scenario, const sim::Entry& entry) {
  const auto about = [&] {
    return fmt::format("{} {}", to_string(what(entry)), name_of(scenario, entry.who));
  };
  switch (what(entry)) {
    case What::mode:
    case What::link:
    case What::stuck:
      return fmt::format("{} {} {}", about(), entry.a, entry.b);
    case What::power:
      return fmt::format("{} {}", about(), entry.a);
    case What::lost:
      return fmt::format("{} {}", about(), static_cast<int>(why_lost(entry)));
    case What::misread:
      return fmt::format("{} {}", about(), entry.b);
    case What::step: {
      const Step& step = scenario.people[entry.who].script[entry.a];
      return fmt::format("step {} {}", static_cast<int>(step.kind), name_of(scenario, step.device));
    }
    case What::refused:
    case What::gave_up:
    case What::dropped:
    case What::assign_ignored:
    case What::stored:
    case What::store_torn:
    case What::power_up:
    case What::switches:
    case What::deaf:
      return about();
    case What::began:
    case What::walked:
    case What::arrived:
    case What::contact:
    case What::gesture:
    case What::channel:
    case What::timer:
    case What::queued:
    case What::deferred:
    case What::sent:
    case What::sent_whole:
    case What::heard:
    case What::obeyed:
    case What::indicator:
    case What::level:
    case What::level_reached:
    case What::store_begun:
    case What::blips:
    case What::blip_unshown:
    case What::checked:
    case What::said:
      return {};
  }
  return {};
}

/// Back from an entry along its causes. What a time-out was counted from is no part of it: another press will do as well.
void add_chain(const Scenario& scenario, const sim::Record& record, sim::EntryId id,
               std::vector<std::string>& chain) {
  for (; id != sim::no_entry; id = record[id].cause) {
    const sim::Entry& entry = record[id];
    std::string link = link_of(scenario, entry);
    if (!link.empty() && std::find(chain.begin(), chain.end(), link) == chain.end())
      chain.push_back(std::move(link));
    const bool by_itself =
        what(entry) == What::mode && static_cast<ModeReason>(entry.b) == ModeReason::time_out;
    if (by_itself || what(entry) == What::step) return;  // the step before it has nothing to do with it
    if (entry.because != sim::no_entry) add_chain(scenario, record, entry.because, chain);
  }
}

/// What last had a say in a fact of a device.
bool decides(const sim::Entry& entry, Fact fact) {
  const What kind = what(entry);
  switch (fact) {
    case Fact::mode:
    case Fact::indicator:
      return kind == What::mode || kind == What::refused;
    case Fact::level:
    case Fact::load:
      return kind == What::level;
    case Fact::power_up:
      return kind == What::power_up || kind == What::store_torn;
    case Fact::address:
    case Fact::site:
    case Fact::zone:
    case Fact::channel:
      if (kind == What::lost) return unpack(entry.b).kind == TelegramKind::assign;
      return kind == What::stored || kind == What::store_torn || kind == What::assign_ignored ||
             kind == What::switches || kind == What::channel;
    case Fact::findings:
      return false;
  }
  return false;
}

FailureReason reason_of(const Scenario& scenario, const RunResult& result, const Finding& finding) {
  FailureReason reason{finding.id,
                       finding.devices.empty() ? std::string{} : name_of(scenario, finding.devices.front()),
                       Fact::findings,
                       {},
                       {},
                       {}};
  for (const sim::EntryId id : finding.evidence) add_chain(scenario, result.record, id, reason.chain);
  return reason;
}

FailureReason reason_of(const Scenario& scenario, const RunResult& result, const CheckResult& outcome) {
  const Check& check = scenario.checks[outcome.check];
  FailureReason reason{
      std::nullopt, name_of(scenario, check.device), check.fact, check.wanted, outcome.actual, {}};
  for (auto id = static_cast<sim::EntryId>(result.record.size()); id > 0; --id) {
    const sim::Entry& entry = result.record[id];
    if (entry.at > outcome.at || entry.who != check.device || !decides(entry, check.fact)) continue;
    add_chain(scenario, result.record, id, reason.chain);
    break;
  }
  return reason;
}

bool shows(const Scenario& scenario, const RunResult& result, const FailureReason& reason) {
  if (reason.finding) {
    return std::any_of(result.findings.begin(), result.findings.end(), [&](const Finding& finding) {
      return reason_of(scenario, result, finding) == reason;
    });
  }
  return std::any_of(result.checks.begin(), result.checks.end(), [&](const CheckResult& check) {
    return !check.passed && reason_of(scenario, result, check) == reason;
  });
}

}  // namespace

std::optional<FailureReason> reason_to_fail(const Scenario& scenario, std::optional<FindingId> finding) {
  const RunResult result = plain_run(scenario);
  if (finding) {
    for (const Finding& each : result.findings) {
      if (each.id == *finding) return reason_of(scenario, result, each);
    }
    return std::nullopt;
  }
  for (const CheckResult& check : result.checks) {
    if (!check.passed) return reason_of(scenario, result, check);
  }
  return std::nullopt;
}

std::optional<std::vector<std::string>> failing_by(const Scenario& scenario, const FailureReason& reason) {
  const RunResult result = plain_run(scenario);
  if (result.unfinished || !shows(scenario, result, reason)) return std::nullopt;
  std::vector<std::string> failing;
  for (const CheckResult& outcome : result.checks) {
    if (!outcome.passed) failing.push_back(describe(scenario, scenario.checks[outcome.check]));
  }
  return failing;
}

bool fails_by(const Scenario& scenario, const FailureReason& reason) {
  return failing_by(scenario, reason).has_value();
}

std::string spoken(const FailureReason& reason) {
  if (reason.finding) {
    const std::string_view id = to_string(*reason.finding);
    return reason.device.empty() ? std::string{id} : tr("{} of {}", id, reason.device);
  }
  const std::string what =
      reason.device.empty() ? tr("findings") : fmt::format("{}.{}", reason.device, to_string(reason.fact));
  const std::string wanted =
      reason.wanted.empty() ? tr("none") : fmt::format("{}", fmt::join(reason.wanted, ", "));
  return tr("{} is not {} but {}", what, wanted, in_words_spoken(reason.actual));
}

std::string to_string(const FailureReason& reason) {
  if (reason.finding) {
    const std::string_view id = to_string(*reason.finding);
    return reason.device.empty() ? std::string{id} : fmt::format("{} of {}", id, reason.device);
  }
  const std::string what = reason.device.empty()
                               ? std::string{"findings"}
                               : fmt::format("{}.{}", reason.device, to_string(reason.fact));
  const std::string wanted =
      reason.wanted.empty() ? "none" : fmt::format("{}", fmt::join(reason.wanted, ", "));
  return fmt::format("{} is not {} but {}", what, wanted, reason.actual);
}

}  // namespace drybus::model
