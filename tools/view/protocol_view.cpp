#include "tools/view/protocol_view.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <boost/json.hpp>
#include <set>

#include "model/record/describe.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/output.h"
#include "tools/base/wrap.h"

namespace drybus::tools {

namespace json = boost::json;
using model::in_words_spoken;
using model::tr;

namespace {

const protocol::FindingKind& kind_of(const protocol::Scenario& scenario, const protocol::Found& found) {
  return scenario.protocol->findings[found.kind];
}

StoryLine::Kind kind_of(protocol::Told::Kind kind) {
  switch (kind) {
    case protocol::Told::Kind::done:
      return StoryLine::Kind::done;
    case protocol::Told::Kind::seen:
      return StoryLine::Kind::seen;
    case protocol::Told::Kind::hidden:
      break;
  }
  return StoryLine::Kind::hidden;
}

std::vector<StoryLine> lines_of(const protocol::Run& run, const StorySpan& span) {
  std::vector<StoryLine> lines;
  for (const protocol::Told& told : run.story) {
    if (told.at >= span.from && told.at <= span.to)
      lines.push_back({told.at, kind_of(told.kind), told.text, {told.entry}});
  }
  return lines;
}

std::string span_of(const protocol::Found& found) {
  return span_words(found.at, found.until);
}

std::string devices_of(const protocol::Found& found) {
  if (found.devices.size() > 8)
    return tr("{} and {} more",
              fmt::format("{}", fmt::join(found.devices.begin(), found.devices.begin() + 7, ", ")),
              found.devices.size() - 7);
  return fmt::format("{}", fmt::join(found.devices, ", "));
}

std::string remedy_text(const protocol::FindingKind& kind) {
  return tr("Remedy: {}", in_words_spoken(kind.remedy));
}

std::string caution_text(const protocol::Scenario& scenario) {
  return tr("Caution: {}", in_words_spoken(scenario.protocol->caution));
}

std::string findings_text(const protocol::Scenario& scenario, const protocol::Run& run, std::size_t width) {
  std::string text;
  bool wiring = scenario.touches_wiring;
  for (const protocol::Found& found : run.findings) {
    const protocol::FindingKind& kind = kind_of(scenario, found);
    wiring = wiring || kind.touches_wiring;
    text += fmt::format("  {}, {} ({})\n", inked(kind.id, Ink::bold), span_of(found), devices_of(found));
    text += paragraph(found.text + ".", width, "    ", "    ");
    text += paragraph(tr("Cause: {}.", in_words_spoken(kind.cause)), width, "    ", "    ");
    text += paragraph(remedy_text(kind), width, "    ", "    ");
  }
  if (wiring) text += paragraph(caution_text(scenario), width, "  ", "  ");
  return text;
}

std::string checks_text(const protocol::Scenario& scenario, const protocol::Run& run, bool failed_only,
                        std::size_t width) {
  std::string text;
  for (const protocol::CheckOutcome& check : run.checks) {
    if (failed_only && check.passed) continue;
    std::string line = fmt::format("{}: {}", model::clock_text(check.at), check.what);
    if (!check.passed)
      line += tr("; in fact {}", check.actual) + fmt::format("  ({}:{}:{})", scenario.files[check.mark.file],
                                                             check.mark.line, check.mark.column);
    text += paragraph(line, width, check_mark(check.passed), check_indent());
  }
  return text;
}

std::string verdict_line(const protocol::Run& run) {
  const auto failed =
      std::count_if(run.checks.begin(), run.checks.end(), [](const auto& check) { return !check.passed; });
  const std::string broken = run.broken_off.empty() ? "" : tr("The run broke off: {}", run.broken_off) + "\n";
  return broken + verdict_words({run.passed(), run.checks.size(), static_cast<std::size_t>(failed),
                                 run.findings.size(), model::clock_text(run.ended), run.digest.hex()});
}

}  // namespace

std::string failure_text(const protocol::Scenario& scenario, const protocol::CheckOutcome& check) {
  return fmt::format("{}:{}:{}: ", scenario.files[check.mark.file], check.mark.line, check.mark.column) +
         tr("{}; in fact {} at {}", check.what, check.actual, model::clock_text(check.at));
}

std::string protocol_story(const protocol::Scenario& scenario, const protocol::Run& run,
                           const StorySpan& span, std::size_t width) {
  std::string text = inked(scenario.title, Ink::bold) + "\n";
  if (!scenario.about.empty()) text += paragraph(reflowed(scenario.about), width, "", "");
  text += tr("protocol {}, seed {}\n\n", scenario.protocol->name, run.seed);
  text += story_table(lines_of(run, span), width);
  if (!run.checks.empty()) text += "\n" + tr("Checks") + "\n" + checks_text(scenario, run, false, width);
  const std::string findings = findings_text(scenario, run, width);
  text += "\n" + tr("Findings") + "\n" + (run.findings.empty() ? "  " + tr("none") + "\n" : "") + findings;
  return text + "\n" + verdict_line(run);
}

std::string protocol_verdict(const protocol::Scenario& scenario, const protocol::Run& run,
                             std::size_t width) {
  return checks_text(scenario, run, true, width) + findings_text(scenario, run, width) + verdict_line(run);
}

namespace {

/// The entries behind a finding, each once, in order of time.
std::vector<sim::EntryId> entries_behind(const protocol::Run& run, const protocol::Found& found) {
  std::set<sim::EntryId> entries;
  for (const sim::EntryId because : found.because) {
    for (const sim::EntryId each : protocol::chain(run.record, because)) entries.insert(each);
  }
  return {entries.begin(), entries.end()};
}

}  // namespace

std::optional<std::string> protocol_why(const protocol::Scenario& scenario, const protocol::Run& run,
                                        const std::string& finding, std::size_t width) {
  std::string text;
  for (const protocol::Found& found : run.findings) {
    const protocol::FindingKind& kind = kind_of(scenario, found);
    if (kind.id != finding) continue;
    text += fmt::format("{}, {} ({})\n", kind.id, span_of(found), devices_of(found));
    text += paragraph(found.text + ".", width, "  ", "  ");
    text += paragraph(tr("Usually: {}.", in_words_spoken(kind.cause)), width, "  ", "  ");
    text += "  " + tr("Here") + "\n";
    for (const sim::EntryId each : entries_behind(run, found)) {
      const std::string first = fmt::format("    {:>9}  ", model::clock_text(run.record[each].at));
      text += paragraph(scenario.describe(run.record, each), width, first, std::string(first.size(), ' '));
    }
    text += paragraph(remedy_text(kind), width, "  ", "  ");
    if (kind.touches_wiring) text += paragraph(caution_text(scenario), width, "  ", "  ");
  }
  if (text.empty()) return std::nullopt;
  return text;
}

std::vector<std::string> finding_ids(const protocol::Scenario& scenario, const protocol::Run& run) {
  std::vector<std::string> ids;
  for (const protocol::Found& found : run.findings) ids.emplace_back(kind_of(scenario, found).id);
  return ids;
}

std::string protocol_json(const std::string& name, const protocol::Scenario& scenario,
                          const protocol::Run& run) {
  json::array checks;
  for (const protocol::CheckOutcome& check : run.checks)
    checks.push_back({{"line", check.mark.line},
                      {"at_s", sim::seconds(check.at)},
                      {"kind", check.seen ? "see" : "expect"},
                      {"what", check.what},
                      {"passed", check.passed},
                      {"actual", check.actual}});
  json::array findings;
  for (const protocol::Found& found : run.findings) {
    const protocol::FindingKind& kind = kind_of(scenario, found);
    json::value until;
    if (found.until) until = sim::seconds(*found.until);
    findings.push_back({{"id", kind.id},
                        {"at_s", sim::seconds(found.at)},
                        {"until_s", until},
                        {"devices", json::value_from(found.devices)},
                        {"text", found.text},
                        {"cause", kind.cause},
                        {"remedy", kind.remedy}});
  }
  json::object devices;
  for (const protocol::DeviceFacts& device : run.devices) {
    json::object facts;
    for (const auto& [fact, value] : device.facts) facts[fact] = value;
    devices[device.name] = std::move(facts);
  }
  json::array frames;
  for (const protocol::Carried& carried : run.carried) {
    for (const protocol::Carried::Sent& sent : carried.frames)
      frames.push_back({{"at_s", sim::seconds(sent.from)},
                        {"line", carried.line},
                        {"sender", sent.sender},
                        {"bits", sent.frame.bits},
                        {"data", sent.frame.data},
                        {"words", scenario.protocol->in_words(sent.frame)},
                        {"garbled", sent.spoilt}});
  }
  const json::object object{{"scenario", name},
                            {"protocol", scenario.protocol->name},
                            {"seed", run.seed},
                            {"ended_at_s", sim::seconds(run.ended)},
                            {"passed", run.passed()},
                            {"digest", run.digest.hex()},
                            {"checks", std::move(checks)},
                            {"findings", std::move(findings)},
                            {"devices", std::move(devices)},
                            {"frames", std::move(frames)}};
  return json_text(object) + "\n";
}

}  // namespace drybus::tools
