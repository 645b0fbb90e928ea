#include "model/run/run.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>

#include "model/firmware/logic.h"
#include "model/record/describe.h"
#include "model/site/ticking.h"
#include "model/words/words.h"
#include "model/world/facts.h"
#include "model/world/installer.h"

namespace drybus::model {

namespace {

void judge_fact(const Scenario& scenario, const World& world, PlaceId from, const Check& check,
                CheckResult& outcome) {
  if (check.seen && !in_sight(scenario.site, from, check.device)) {
    outcome.actual = fmt::format("out of sight from {}", scenario.site.places[from].name);
    return;
  }
  outcome.actual = fact_text(scenario, world, check.device, check.fact);
  outcome.passed = fact_is(scenario, world, check);
}

void judge_findings(const Scenario& scenario, const World& world, const FindingWatch& watch,
                    const Check& check, CheckResult& outcome) {
  std::set<std::string_view> actual;
  for (const Observation& o : watch.observations(scenario, world)) actual.insert(to_string(o.id));
  const std::set<std::string_view> wanted{check.wanted.begin(), check.wanted.end()};
  outcome.actual = actual.empty() ? "none" : fmt::format("{}", fmt::join(actual, ", "));
  outcome.passed = actual == wanted;
}

/// One run in progress.
class Bench {
 public:
  Bench(const Scenario& scenario, const RunOptions& options, RunResult& result)
      : scenario_(scenario),
        options_(options),
        result_(result),
        watch_(scenario),
        simulation_(scenario, result.world, &result.record),
        driver_(simulation_, options.budget) {
    simulation_.on_check([this](std::uint32_t check, sim::EntryId step) { return judge(check, step); });
    if (options.logic != nullptr) simulation_.use_logic(options.logic);
  }

  void run() {
    try {
      go_on_to_the_end();
      result_.unfinished = !simulation_.scripts_done();
    } catch (const FirmwareFault& fault) {
      break_off(fault.device(), fault.what(), true);
    } catch (const UsedUp& used_up) {
      break_off(used_up.device(), used_up.what(), false);
    }
    if (const Ticking* ticking = ticking_of(scenario_.site.logic.get()))
      ticking->settle(scenario_.site, result_.world);
    for (const Observation& observation : watch_.observations(scenario_, result_.world)) {
      result_.findings.push_back(finding_of(observation));
    }
  }

 private:
  void go_on_to_the_end() {
    simulation_.begin();
    settle();
    driver_.go_on([this] { return simulation_.scripts_done() || over(); }, [this] { settle(); },
                  sim::start_of_run + options_.until);
  }

  void break_off(DeviceId device, const char* what, bool firmware) {
    result_.broken_off =
        BrokenOff{device, result_.world.now, step_in_progress(), what, driver_.is_used_up(), firmware};
  }

  [[nodiscard]] std::optional<StepRef> step_in_progress() const {
    const auto& people = result_.world.people;
    for (std::size_t i = 0; i < people.size(); ++i) {
      if (people[i].done == 0) return StepRef{static_cast<std::uint32_t>(i), people[i].step};
    }
    return std::nullopt;
  }

  [[nodiscard]] bool over() const { return options_.stop_at_failure && failed_; }

  [[nodiscard]] Finding finding_of(const Observation& o) const {
    if (!options_.plain) return in_words(scenario_, result_.world, result_.record, o);
    return {o.id, o.at, o.until, o.devices, o.evidence, {}, {}};
  }

  void settle() {
    watch_.observe(scenario_, result_.world, result_.record);
    if (options_.after_event) options_.after_event(result_.world, result_.record);
  }

  bool judge(std::uint32_t index, sim::EntryId step) {
    result_.checks.push_back(model::judge(scenario_, result_.world, result_.record, watch_, index, step));
    const bool passed = result_.checks.back().passed;
    failed_ = failed_ || !passed;
    return passed;
  }

  const Scenario& scenario_;
  const RunOptions& options_;
  RunResult& result_;
  FindingWatch watch_;
  Simulation simulation_;
  Driver driver_;
  bool failed_ = false;
};

}  // namespace

CheckResult judge(const Scenario& scenario, const World& world, const sim::Record& record,
                  FindingWatch& watch, std::uint32_t index, sim::EntryId step) {
  const Check& check = scenario.checks[index];
  CheckResult outcome{index, world.now, false, {}};
  if (check.fact == Fact::findings) {
    watch.observe(scenario, world, record);
    judge_findings(scenario, world, watch, check, outcome);
  } else {
    judge_fact(scenario, world, world.people[record[step].who].place, check, outcome);
  }
  return outcome;
}

bool RunResult::passed() const {
  return !unfinished && !broken_off &&
         std::all_of(checks.begin(), checks.end(), [](const CheckResult& c) { return c.passed; });
}

std::size_t remark_bytes(const Scenario& scenario) {
  std::size_t bytes = 0;
  for (const Person& person : scenario.people) {
    for (const Step& step : person.script) bytes += step.text.size();
  }
  return bytes;
}

namespace {
std::string remarks_too_long(std::size_t bytes, const RunOptions& options) {
  return tr("stopped before it began: the notes and remarks of the script come to {}; {} is the most",
            size_text(bytes), size_text(options.budget.record_bytes));
}
}  // namespace

RunResult run(const Scenario& scenario, const RunOptions& options) {
  RunResult result;
  const std::uint64_t seed = options.seed.value_or(scenario.seed);
  try {
    result.world = initial_world(scenario, seed);
  } catch (const FirmwareFault& fault) {
    result.broken_off = BrokenOff{fault.device(), sim::start_of_run, std::nullopt, fault.what(), false, true};
    Scenario without = scenario;
    without.site.logic = nullptr;
    result.world = initial_world(without, seed);
    return result;
  }
  if (const std::size_t bytes = remark_bytes(scenario); bytes > options.budget.record_bytes) {
    result.broken_off =
        BrokenOff{no_device, sim::start_of_run, std::nullopt, remarks_too_long(bytes, options), true, false};
    return result;
  }
  Bench{scenario, options, result}.run();
  if (!options.plain) result.digest = digest_of(result.record, result.world);
  return result;
}

std::string describe(const Scenario& scenario, const BrokenOff& broken_off) {
  const std::string what =
      broken_off.firmware ? tr("{}; at {}", broken_off.what, clock_text(broken_off.at)) : broken_off.what;
  if (!broken_off.step) return what;
  const auto& script = scenario.people[broken_off.step->person].script;
  if (broken_off.step->step >= script.size()) return what;
  const Step& step = script[broken_off.step->step];
  std::string during = tr("{}, in the step '{}'", what, describe(scenario, step));
  if (step.mark.line == 0 || step.mark.file >= scenario.files.size()) return during;
  return fmt::format("{}:{}:{}: {}", scenario.files[step.mark.file], step.mark.line, step.mark.column,
                     during);
}

sim::Fingerprint digest_of(const sim::Record& record, const World& world) {
  sim::Digest digest;
  record.add_to(digest);
  add_to(digest, world);
  return digest.value();
}

}  // namespace drybus::model
