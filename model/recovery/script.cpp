#include "model/recovery/script.h"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "model/findings/findings.h"

namespace drybus::model {

namespace {

class CureWriter {
 public:
  CureWriter(const Scenario& scenario, const Cure& cure, sim::Instant ended) : cure_(cure), ended_(ended) {
    result_.scenario = with_aim(scenario, cure.aim);
  }

  CuredScenario write() {
    drop_failing_checks();
    if (!cure_.steps.empty()) add_cure();
    expect_state();
    result_.run = run(result_.scenario);
    expect_findings();
    result_.run = run(result_.scenario);
    return std::move(result_);
  }

 private:
  [[nodiscard]] Scenario& scenario() { return result_.scenario; }
  [[nodiscard]] std::vector<Step>& steps() { return result_.scenario.people[0].script; }

  /// What failed before would fail again, and says nothing about the cure.
  void drop_failing_checks() {
    std::set<std::uint32_t> failed;
    for (const CheckResult& check : run(scenario()).checks) {
      if (!check.passed) failed.insert(check.check);
    }
    result_.dropped_checks = failed.size();
    for (Person& person : scenario().people) {
      for (Step& step : person.script) {
        const bool checked = !step.checks.empty();
        std::erase_if(step.checks, [&failed](std::uint32_t check) { return failed.contains(check); });
        if (checked && step.checks.empty()) step.kind = StepKind::note;
        if (checked && step.checks.empty() && step.text.empty())
          step.text = "(what was expected here was not so)";
      }
    }
  }

  void add_cure() {
    Step note;
    note.kind = StepKind::note;
    note.text = "The cure.";
    note.at = ended_;
    steps().push_back(note);
    std::size_t line = 0;
    for (std::size_t i = 0; i < cure_.steps.size(); ++i) {
      Step step = cure_.steps[i];
      const std::vector<CureLine>& lines = cure_.written_lines;
      while (line < lines.size() && (lines[line].steps == 0 || lines[line].first_step < i)) ++line;
      if (line < lines.size() && lines[line].first_step == i) step.text = told(lines[line]);
      steps().push_back(step);
      if (step.kind == StepKind::hold && line < lines.size() && lines[line].shows.ends_with(" blinks"))
        look(step.device);
    }
  }

  [[nodiscard]] static std::string told(const CureLine& line) {
    return line.caution.empty() ? line.text : fmt::format("{} {}", line.text, line.caution);
  }

  void look(DeviceId device) {
    add_check(StepKind::see, {Fact::indicator, device, {std::string{to_string(Pattern::blink)}}, true, {}});
  }

  void add_check(StepKind kind, Check wanted) {
    Step step;
    step.kind = kind;
    step.checks.push_back(static_cast<std::uint32_t>(scenario().checks.size()));
    scenario().checks.push_back(std::move(wanted));
    steps().push_back(std::move(step));
  }

  void expect_state() {
    const Site& site = scenario().site;
    for (DeviceId device = 0; device < site.device_count(); ++device) {
      if (site.is_neighbour(device)) continue;
      add_check(StepKind::expect, {Fact::mode, device, {std::string{to_string(Mode::normal)}}, false, {}});
      if (site.is_plate(device)) continue;
      const auto& address = cure_.aim.addresses[site.module_index(device)];
      if (address) add_check(StepKind::expect, {Fact::address, device, {to_string(*address)}, false, {}});
    }
  }

  /// Findings of before stay in the list, but none of them is open any more.
  void expect_findings() {
    std::set<std::string> ids;
    for (const Finding& finding : result_.run.findings) ids.emplace(to_string(finding.id));
    add_check(StepKind::expect, {Fact::findings, no_device, {ids.begin(), ids.end()}, false, {}});
  }

  const Cure& cure_;
  sim::Instant ended_;
  CuredScenario result_;
};

}  // namespace

bool CuredScenario::proves() const {
  return run.passed() && std::all_of(run.findings.begin(), run.findings.end(),
                                     [](const Finding& finding) { return finding.until.has_value(); });
}

CuredScenario cured_scenario(const Scenario& scenario, const Cure& cure, sim::Instant ended) {
  return CureWriter{scenario, cure, ended}.write();
}

}  // namespace drybus::model
