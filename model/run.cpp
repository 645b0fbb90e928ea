#include "model/run.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <set>

#include "model/facts.h"
#include "model/installer.h"

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

void judge_findings(const Scenario& scenario, const World& world, const FindingWatch& watch, const Check& check,
                    CheckResult& outcome) {
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
        simulation_(scenario, result.world, &result.record) {
    simulation_.on_check([this](std::uint32_t check, sim::EntryId step) { return judge(check, step); });
    simulation_.use_logic(options.logic);
  }

  void run() {
    simulation_.begin();
    settle();
    const sim::Instant bound = sim::start_of_run + options_.until;
    while (!simulation_.scripts_done() && simulation_.next_at() <= bound && !over()) {
      simulation_.step();
      settle();
    }
    result_.unfinished = !simulation_.scripts_done();
    for (const Observation& observation : watch_.observations(scenario_, result_.world)) {
      result_.findings.push_back(finding_of(observation));
    }
  }

 private:
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
  bool failed_ = false;
};

}  // namespace

CheckResult judge(const Scenario& scenario, const World& world, const sim::Record& record, FindingWatch& watch,
                  std::uint32_t index, sim::EntryId step) {
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
  return !unfinished && std::all_of(checks.begin(), checks.end(), [](const CheckResult& c) { return c.passed; });
}

RunResult run(const Scenario& scenario, const RunOptions& options) {
  RunResult result;
  result.world = initial_world(scenario, options.seed.value_or(scenario.seed));
  Bench{scenario, options, result}.run();
  if (!options.plain) result.digest = digest_of(result.record, result.world);
  return result;
}

sim::Fingerprint digest_of(const sim::Record& record, const World& world) {
  sim::Digest digest;
  record.add_to(digest);
  add_to(digest, world);
  return digest.value();
}

}  // namespace drybus::model
