#include "model/lesson/standing.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>

#include "model/run/driver.h"
#include "model/world/facts.h"
#include "model/world/simulation.h"

namespace drybus::model {

namespace {

/// A run that is looked at where it stops.
class StoryRun {
 public:
  explicit StoryRun(const Scenario& scenario)
      : scenario_(scenario),
        world_(initial_world(scenario)),
        watch_(scenario),
        simulation_(scenario, world_, &record_),
        driver_(simulation_) {
    simulation_.begin();
    settle();
  }

  void to_the_end_of_the_script() {
    driver_.go_on([this] { return world_.people[0].done != 0; }, [this] { settle(); });
  }

  void until(sim::Instant at) {
    driver_.go_on([] { return false; }, [this] { settle(); }, at);
    simulation_.run_until(at);
    settle();
  }

  [[nodiscard]] sim::Instant now() const { return world_.now; }
  [[nodiscard]] const sim::Record& record() const { return record_; }

  [[nodiscard]] Standing standing() const {
    Standing standing{world_, {}};
    for (const Observation& each : watch_.observations(scenario_, world_)) {
      if (std::find(standing.found.begin(), standing.found.end(), each.id) == standing.found.end())
        standing.found.push_back(each.id);
    }
    return standing;
  }

 private:
  void settle() { watch_.observe(scenario_, world_, record_); }

  const Scenario& scenario_;
  World world_;
  sim::Record record_;
  FindingWatch watch_;
  Simulation simulation_;
  Driver driver_;
};

std::size_t steps_before(const Scenario& story, const LessonStop& stop) {
  switch (stop.kind) {
    case LessonStop::Kind::start:
      return 0;
    case LessonStop::Kind::note:
      return stop.step + std::size_t{1};
    case LessonStop::Kind::time:
    case LessonStop::Kind::end:
      break;
  }
  return story.people[0].script.size();
}

/// "12.5 %" is 12.5; facts have one decimal at most.
std::optional<double> number_at_start(std::string_view text) {
  int whole = 0;
  const char* const last = text.data() + text.size();
  const auto [end, error] = std::from_chars(text.data(), last, whole);
  if (error != std::errc{}) return std::nullopt;
  if (last - end < 2 || end[0] != '.') return whole;
  return whole + (end[1] - '0') / 10.0;
}

}  // namespace

Standing stand_at(const Scenario& story, const LessonStop& stop) {
  // A script that ends is how a run knows that nobody goes on.
  const Scenario held = with_steps_from(story, stop, {});
  StoryRun run{held};
  stop.kind == LessonStop::Kind::time ? run.until(stop.at) : run.to_the_end_of_the_script();
  return run.standing();
}

Scenario with_steps_from(const Scenario& story, const LessonStop& stop, std::span<const Step> steps) {
  Scenario scenario = story;
  std::vector<Step>& script = scenario.people[0].script;
  script.resize(steps_before(story, stop));
  script.insert(script.end(), steps.begin(), steps.end());
  return scenario;
}

std::span<const Step> rest_of_story(const Scenario& story, const LessonStop& stop) {
  return std::span{story.people[0].script}.subspan(steps_before(story, stop));
}

Tried try_steps(const Scenario& story, const LessonStop& stop, std::span<const Step> steps) {
  const sim::Instant from = stand_at(story, stop).world.now;
  const Scenario scenario = with_steps_from(story, stop, steps);
  const std::size_t first = steps_before(story, stop);
  StoryRun run{scenario};
  run.to_the_end_of_the_script();
  Tried tried;
  tried.took = run.now() - from;
  run.until(run.now() + settling);
  tried.standing = run.standing();
  std::uint32_t step = 0;
  for (sim::EntryId id = 1; id <= run.record().size(); ++id) {
    const sim::Entry& entry = run.record()[id];
    if (what(entry) == What::step && entry.who == 0) step = entry.a;
    if (what(entry) == What::misread && step >= first)
      tried.misread.push_back(step - static_cast<std::uint32_t>(first));
  }
  return tried;
}

bool holds(const Scenario& scenario, const Standing& standing, const LessonCondition& condition) {
  return std::all_of(condition.begin(), condition.end(), [&](const Check& check) {
    if (check.fact != Fact::findings) return fact_is(scenario, standing.world, check);
    if (check.wanted.empty()) return standing.found.empty();
    return std::all_of(check.wanted.begin(), check.wanted.end(), [&](const std::string& wanted) {
      return std::any_of(standing.found.begin(), standing.found.end(),
                         [&](FindingId id) { return to_string(id) == wanted; });
    });
  });
}

std::vector<DeviceId> devices_with(const Scenario& scenario, const World& world, const Quality& quality) {
  std::vector<DeviceId> devices;
  for (DeviceId device = 0; device < scenario.site.device_count(); ++device) {
    const bool has = std::all_of(quality.facts.begin(), quality.facts.end(), [&](const auto& fact) {
      Check check;
      check.fact = fact.first;
      check.device = device;
      check.wanted = {fact.second};
      return fact_text(scenario, world, device, fact.first) != "-" && fact_is(scenario, world, check);
    });
    if (has) devices.push_back(device);
  }
  return devices;
}

std::optional<double> measured(const Scenario& scenario, const World& world, const Measure& measure) {
  switch (measure.kind) {
    case Measure::Kind::count:
      return static_cast<double>(devices_with(scenario, world, measure.quality).size());
    case Measure::Kind::time_left: {
      const auto handle = world.devices[measure.device].timers[static_cast<std::size_t>(Timer::time_out)];
      if (handle == sim::EventQueue::none) return std::nullopt;
      return sim::seconds(world.queue.due(handle) - world.now);
    }
    case Measure::Kind::fact:
      break;
  }
  return number_at_start(fact_text(scenario, world, measure.device, measure.fact));
}

}  // namespace drybus::model
