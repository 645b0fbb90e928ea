#include "model/exercise/attempt.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "model/planning/cover_work.h"
#include "model/record/describe.h"
#include "model/words/words.h"
#include "model/world/facts.h"

namespace drybus::model {

namespace {

/// A third of the whole each; see cover_work.h.
constexpr sim::Duration a_part_of_isolating = isolating_takes / 3;

std::string shown(const Scenario& scenario, const World& world, DeviceId device) {
  const Site& site = scenario.site;
  std::string text =
      tr("lamp {}", in_words_spoken(fact_text(scenario, world, device, Fact::indicator), "pattern"));
  if (!site.is_plate(device)) text += tr(", load {}", fact_text(scenario, world, device, Fact::load));
  return text;
}

std::string titled(const Site& site, DeviceId device) {
  const std::string& name = site.name(device);
  const std::string& title = site.title(device);
  return title == name ? name : fmt::format("{} ({})", title, name);
}

std::string hidden_of(const Scenario& scenario, const World& world, DeviceId device) {
  const bool plate = scenario.site.is_plate(device);
  std::string text = world.devices[device].mode == Mode::setup ? tr("mode setup") : tr("mode normal");
  if (plate) {
    text +=
        tr(", set to {}/{}, channel {}", fact_text(scenario, world, device, Fact::site),
           fact_text(scenario, world, device, Fact::zone), fact_text(scenario, world, device, Fact::channel));
  } else {
    text += tr(", address {}", in_words_spoken(fact_text(scenario, world, device, Fact::address)));
  }
  if (world.devices[device].powered == 0) text += tr(", no supply");
  if (world.devices[device].stuck != 0) text += tr(", a button stuck");
  return text;
}

/// What is otherwise with each device, as seen from a place and as it really is.
void compare(const Scenario& scenario, const World& before, const World& after, Done& done) {
  const PlaceId place = after.people[0].place;
  for (DeviceId device = 0; device < scenario.site.device_count(); ++device) {
    const std::string now = shown(scenario, after, device);
    if (now != shown(scenario, before, device)) {
      auto& told = scenario.site.place(device) == place ? done.seen : done.hidden;
      told.push_back(fmt::format("{}: {}", titled(scenario.site, device), now));
    }
    const std::string truly = hidden_of(scenario, after, device);
    if (truly != hidden_of(scenario, before, device))
      done.hidden.push_back(fmt::format("{}: {}", titled(scenario.site, device), truly));
  }
}

std::vector<Step> isolation() {
  std::vector<Step> steps = isolation_steps(false);
  steps.back().duration = a_part_of_isolating;
  return steps;
}

/// What has no supply of its own does not come on with the others.
std::vector<Step> restoration(const std::vector<DeviceId>& without_supply) {
  std::vector<Step> steps = isolation_steps(true);
  for (const DeviceId device : without_supply) {
    Step stays_off = steps.front();
    stays_off.device = device;
    stays_off.on = false;
    steps.insert(steps.begin() + 1, stays_off);
  }
  return steps;
}

/// Takes a device to be reconnected off the list, and its step with it: it comes on when the supply does.
bool reconnects(Attempt& attempt, std::vector<Step>& steps) {
  if (steps.empty() || steps.front().kind != StepKind::power) return false;
  const std::size_t before = attempt.without_supply.size();
  std::erase(attempt.without_supply, steps.front().device);
  steps.clear();
  return attempt.without_supply.size() != before;
}

std::string unsafe_words(const Attempt& attempt) {
  if (!attempt.isolated)
    return tr(
        "A cover came off while the supply was on. Nobody works live: isolate, lock off and prove dead "
        "first.");
  if (!attempt.locked)
    return tr(
        "A cover came off while nothing was locked off. Anybody could have switched the supply on again.");
  return tr(
      "A cover came off before anybody had proved that it was dead. What is switched off need not be "
      "dead.");
}

/// Work on what was as it should be already.
bool makes_no_difference(const Exercise& exercise, const World& before, const World& after) {
  return amiss(exercise.scenario, exercise.cure.aim, before) ==
         amiss(exercise.scenario, exercise.cure.aim, after);
}

std::size_t steps_taken(const Attempt& attempt) {
  std::size_t steps = 0;
  for (const Done& done : attempt.done) {
    steps +=
        static_cast<std::size_t>(std::count_if(done.action.steps.begin(), done.action.steps.end(),
                                               [](const Step& step) { return step.kind != StepKind::wait; }));
    const auto kind = done.action.kind;
    if (kind == SiteAction::Kind::isolate || kind == SiteAction::Kind::restore) ++steps;
  }
  return steps;
}

}  // namespace

Attempt begin_attempt(const Exercise& exercise) {
  Attempt attempt;
  attempt.world = exercise.start;
  for (DeviceId device = 0; device < exercise.scenario.site.device_count(); ++device) {
    if (attempt.world.devices[device].powered == 0) attempt.without_supply.push_back(device);
  }
  return attempt;
}

std::vector<std::string> what_shows(const Exercise& exercise, const World& world) {
  const Site& site = exercise.scenario.site;
  std::vector<std::string> all;
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    if (site.place(device) == world.people[0].place)
      all.push_back(fmt::format("{}: {}", titled(site, device), shown(exercise.scenario, world, device)));
  }
  return all;
}

std::optional<std::string> act(const Exercise& exercise, Attempt& attempt, const SiteAction& action) {
  Done done{attempt.world.now, action, {}, {}, false};
  std::vector<Step> steps = action.steps;
  bool reconnected = false;
  switch (action.kind) {
    case SiteAction::Kind::look:
      done.seen = what_shows(exercise, attempt.world);
      break;
    case SiteAction::Kind::hands:
    case SiteAction::Kind::believe:
      break;
    case SiteAction::Kind::isolate:
      if (attempt.isolated) return tr("the supply is isolated already");
      steps = isolation();
      attempt.isolated = true;
      break;
    case SiteAction::Kind::lock_off:
      if (!attempt.isolated) return tr("there is nothing to lock off: the supply is on");
      if (attempt.locked) return tr("it is locked off already");
      steps = {wait_step(a_part_of_isolating)};
      attempt.locked = true;
      break;
    case SiteAction::Kind::prove_dead:
      if (!attempt.isolated) return tr("the tester says that it is live");
      if (!attempt.locked)
        return tr("lock it off first: what is proved dead could be switched on again before it is");
      steps = {wait_step(a_part_of_isolating)};
      attempt.proved_dead = true;
      break;
    case SiteAction::Kind::restore:
      if (!attempt.isolated) return tr("the supply is on");
      steps = restoration(attempt.without_supply);
      attempt.isolated = attempt.locked = attempt.proved_dead = false;
      break;
    case SiteAction::Kind::work:
      if (!attempt.is_dead()) {
        attempt.unsafe = unsafe_words(attempt);
        attempt.done.push_back(std::move(done));
        return std::nullopt;
      }
      reconnected = reconnects(attempt, steps);
      steps.push_back(wait_step(setting_takes));
      break;
  }
  if (!steps.empty()) {
    World after = world_after(exercise.scenario, attempt.world, steps);
    compare(exercise.scenario, attempt.world, after, done);
    if (action.kind == SiteAction::Kind::work)
      done.needless = !reconnected && makes_no_difference(exercise, attempt.world, after);
    attempt.world = std::move(after);
  }
  attempt.done.push_back(std::move(done));
  return std::nullopt;
}

Score score_of(const Exercise& exercise, const Attempt& attempt) {
  Score score;
  score.amiss = amiss(exercise.scenario, exercise.cure.aim, attempt.world);
  score.cured = !attempt.unsafe && score.amiss.empty() && !attempt.isolated;
  score.minutes = sim::seconds(attempt.world.now - exercise.start.now) / 60;
  score.par_minutes = sim::seconds(exercise.round_takes + exercise.cure.time) / 60;
  score.steps = steps_taken(attempt);
  score.par_steps = exercise.round_steps + exercise.cure.steps.size();
  score.needless = static_cast<std::size_t>(std::count_if(attempt.done.begin(), attempt.done.end(),
                                                          [](const Done& done) { return done.needless; }));
  if (!score.cured) return score;
  const auto part = [](double par, double used) { return used <= par ? 25.0 : 25.0 * par / used; };
  const double kept_simple = 25.0 - 5.0 * static_cast<double>(std::min<std::size_t>(score.needless, 5));
  score.points = static_cast<unsigned>(
      part(score.par_minutes, score.minutes) +
      part(static_cast<double>(score.par_steps), static_cast<double>(score.steps)) + kept_simple + 25.0);
  return score;
}

}  // namespace drybus::model
