#include "model/run/sweep.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/firmware/logic.h"
#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "model/world/simulation.h"

namespace drybus::model {

void SweepPart::add(const SweepPart& other) {
  first = runs == 0 ? other.first : std::min(first, other.first);
  runs += other.runs;
  with_slip += other.with_slip;
  with_finding += other.with_finding;
  for (std::size_t i = 0; i < finding_count; ++i) {
    hits[i] += other.hits[i];
    first_run[i] = std::min(first_run[i], other.first_run[i]);
  }
}

Sweeper::Sweeper(const Scenario& scenario, const HumanFactors& factors, std::uint64_t seed,
                 const Budget& budget)
    : meant_(scenario),
      factors_(factors),
      seed_(seed),
      budget_(budget),
      scenario_(scenario),
      start_(initial_world(scenario)) {}

const Scenario& Sweeper::scenario_of(std::uint64_t run, std::vector<Slip>& slips) {
  vary(meant_, factors_, seed_, run, scenario_, slips);
  return scenario_;
}

SweepPart Sweeper::runs(std::uint64_t first, std::uint64_t count) {
  SweepPart part;
  part.first = first;
  for (std::uint64_t run = first; run < first + count; ++run) one(run, part);
  return part;
}

void Sweeper::one(std::uint64_t run, SweepPart& part) {
  try {
    try_one(run, part);
  } catch (const FirmwareFault& fault) {
    throw FirmwareFault{fault.device(), tr("run {}: {}; at {}", run, fault.what(), clock_text(world_.now))};
  } catch (const UsedUp& used_up) {
    throw UsedUp{used_up.device(), tr("run {}: {}", run, used_up.what())};
  }
}

void Sweeper::try_one(std::uint64_t run, SweepPart& part) {
  scenario_of(run, slips_);
  world_ = start_;
  world_.seed = seed_ + run;
  record_.clear();
  Simulation simulation{scenario_, world_, &record_};
  Driver driver{simulation, budget_};
  FindingWatch watch{scenario_};
  const auto observe = [&] { watch.observe(scenario_, world_, record_); };
  simulation.begin();
  observe();
  driver.go_on([&] { return simulation.scripts_done(); }, observe, sim::start_of_run + default_run_bound);
  std::array<bool, finding_count> found{};
  for (const Observation& o : watch.observations(scenario_, world_))
    found[static_cast<std::size_t>(o.id)] = true;
  ++part.runs;
  if (!slips_.empty()) ++part.with_slip;
  if (std::find(found.begin(), found.end(), true) != found.end()) ++part.with_finding;
  for (std::size_t i = 0; i < finding_count; ++i) {
    if (!found[i]) continue;
    ++part.hits[i];
    part.first_run[i] = std::min(part.first_run[i], run);
  }
}

}  // namespace drybus::model
