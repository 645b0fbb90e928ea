#include "model/call/answer.h"

#include <algorithm>
#include <string>

namespace drybus::model {

namespace {

bool is_act(const Step& step) {
  return step.kind == StepKind::press || step.kind == StepKind::hold;
}

/// "21/3"
std::string numbers_text(std::uint8_t site, std::uint8_t zone) {
  return std::to_string(site) + "/" + std::to_string(zone);
}

}  // namespace

std::string_view to_string(Asked asked) {
  static constexpr sim::ByEnum<Asked, std::string_view> words{"check", "again", "cure", "proof"};
  return words[asked];
}

void take_in(const SwitchReading& reading, Report& report) {
  std::erase(report.unread, reading.plate);
  auto& script = report.believed.people.front().script;
  for (auto step = script.rbegin(); step != script.rend(); ++step) {
    if (step->kind != StepKind::switches || step->device != reading.plate) continue;
    step->site = reading.site;
    step->zone = reading.zone;
    return;
  }
  PlateSpec& plate = report.believed.site.plates[reading.plate];
  Check read{Fact::site, reading.plate, {numbers_text(reading.site, reading.zone)}, true, reading.mark};
  if (plate.site != reading.site || plate.zone != reading.zone)
    read.wanted.push_back(numbers_text(plate.site, plate.zone));
  report.believed.checks.push_back(std::move(read));
  plate.site = reading.site;
  plate.zone = reading.zone;
}

Report with_answers(const Report& told, std::span<const CallAnswer> answers) {
  Report report = told;
  auto& script = report.believed.people.front().script;
  const auto pin = [&] {
    if (script.empty()) script.emplace_back().kind = StepKind::note;  // seen before anything was done
    for (Seen& seen : report.seen) {
      if (!seen.after_step) seen.after_step = static_cast<std::uint32_t>(script.size() - 1);
    }
  };
  for (const CallAnswer& answer : answers) {
    if (!answer.steps.empty()) {
      pin();
      // Nobody captured what was done since.
      report.capture_in_part = true;
    }
    const auto before = static_cast<std::uint32_t>(script.size());
    if (!answer.steps.empty() && !report.answers_from) report.answers_from = before;
    script.insert(script.end(), answer.steps.begin(), answer.steps.end());
    const bool watched =
        answer.about == Asked::check && std::any_of(answer.steps.begin(), answer.steps.end(), is_act);
    for (Seen seen : answer.seen) {
      seen.watched = watched;
      if (seen.after_step) seen.after_step = *seen.after_step + before;
      if (seen.after_step && *seen.after_step + 1 == script.size()) seen.after_step.reset();
      report.seen.push_back(std::move(seen));
    }
    for (const SwitchReading& reading : answer.read) take_in(reading, report);
  }
  return report;
}

}  // namespace drybus::model
