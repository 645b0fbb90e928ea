#include "tools/panel/branch.h"

#include <algorithm>
#include <limits>

#include "model/world/installer.h"

namespace drybus::tools {

namespace {

/// A moment is kept after so many entries, besides those at the installer's steps.
constexpr std::size_t entries_between = 2'000;
/// The latest moments are kept all; of older ones every second goes when there are too many.
constexpr std::size_t never_thinned = 32;

sim::Record beginning_of(const sim::Record& record, std::size_t entries) {
  sim::Record beginning;
  for (const sim::Entry& entry : record.entries().first(entries)) beginning.add(entry);
  return beginning;
}

bool begins_with(const sim::Record& record, const sim::Record& beginning) {
  const auto all = record.entries();
  const auto first = beginning.entries();
  return all.size() >= first.size() && std::equal(first.begin(), first.end(), all.begin());
}

}  // namespace

Branch::Branch(model::Scenario scenario, std::optional<std::size_t> held_before)
    : scenario_(std::move(scenario)), moment_(first_moment()) {
  set_hold(held_before);
  begin();
}

Branch::Moment Branch::first_moment() const {
  return {model::initial_world(scenario_), model::FindingWatch{scenario_}, Onlooker{scenario_}, 0};
}

void Branch::begin() {
  moment_ = first_moment();
  record_.clear();
  outcomes_.clear();
  kept_begun_ = 0;
  connect();
  simulation_->begin();
  settle();
  run_until(sim::start_of_run, no_limit);
}

/// A simulation finds out from the record where it stands: after every jump a new one.
void Branch::connect() {
  driver_.reset();
  simulation_.emplace(held_ ? *held_ : scenario_, moment_.world, &record_);
  driver_.emplace(*simulation_);
  simulation_->on_check([this](std::uint32_t check, sim::EntryId step) { return judge(check, step); });
}

bool Branch::judge(std::uint32_t check, sim::EntryId step) {
  // The entry that tells of the check is the one that follows.
  const auto told_by = static_cast<sim::EntryId>(record_.size() + 1);
  outcomes_.push_back({told_by, model::judge(scenario_, moment_.world, record_, moment_.watch, check, step)});
  return outcomes_.back().result.passed;
}

const model::CheckResult* Branch::outcome(sim::EntryId checked) const {
  const auto found = std::find_if(outcomes_.begin(), outcomes_.end(),
                                  [&](const Outcome& outcome) { return outcome.entry == checked; });
  return found == outcomes_.end() ? nullptr : &found->result;
}

std::vector<model::Observation> Branch::observations() const {
  return moment_.watch.observations(scenario_, moment_.world);
}

std::size_t Branch::steps_begun() const {
  return model::steps_begun(installer());
}

// --- time ---

void Branch::step() {
  driver_->step();
  ++events_;
  settle();
  reached_ = std::max(reached_, now());
}

void Branch::settle() {
  moment_.watch.observe(scenario_, moment_.world, record_);
  while (moment_.entries < record_.size()) {
    ++moment_.entries;
    const auto id = static_cast<sim::EntryId>(moment_.entries);
    moment_.onlooker.take_in(id, record_[id]);
  }
  const bool turned_to_a_step = steps_begun() != kept_begun_ && !installer_idle();
  const bool far_from_the_last =
      moment_.entries >= (kept_.empty() ? 0 : kept_.back().entries) + entries_between;
  if (turned_to_a_step || far_from_the_last) keep_moment();
}

bool Branch::run_until(sim::Instant until, std::size_t most_events) {
  for (; next_at() <= until; --most_events) {
    if (most_events == 0 || full()) return false;
    step();
  }
  moment_.world.now = std::max(now(), until);
  reached_ = std::max(reached_, now());
  return true;
}

void Branch::seek(sim::Instant at) {
  if (record_.size() > future_.size()) future_ = record_;
  run_again_to(at);
}

/// From the last moment kept that is not later.
void Branch::run_again_to(sim::Instant at) {
  const auto after =
      std::find_if(kept_.begin(), kept_.end(), [&](const Moment& moment) { return moment.world.now > at; });
  if (after == kept_.begin()) {
    begin();
  } else {
    put_at(*std::prev(after));
  }
  run_until(at, no_limit);
}

void Branch::put_at(const Moment& moment) {
  moment_ = moment;
  record_ = beginning_of(record_.size() < moment.entries ? future_ : record_, moment.entries);
  std::erase_if(outcomes_, [&](const Outcome& outcome) { return outcome.entry > moment_.entries; });
  kept_begun_ = steps_begun();
  connect();
}

// --- moments to start again from ---

void Branch::keep_moment() {
  kept_begun_ = steps_begun();
  const auto later = std::find_if(kept_.begin(), kept_.end(),
                                  [&](const Moment& moment) { return moment.entries >= moment_.entries; });
  if (later != kept_.end() && later->entries == moment_.entries) {
    *later = moment_;
  } else {
    kept_.insert(later, moment_);
  }
  if (kept_.size() > most_checkpoints) thin_out();
}

void Branch::thin_out() {
  const std::size_t old = kept_.size() - never_thinned;
  std::vector<Moment> fewer;
  for (std::size_t i = 0; i < kept_.size(); ++i) {
    if (i >= old || i % 2 == 0) fewer.push_back(std::move(kept_[i]));
  }
  kept_ = std::move(fewer);
}

// --- the script ---

void Branch::set_hold(std::optional<std::size_t> step) {
  held_.reset();
  if (!step || *step >= steps().size()) return;
  held_ = scenario_;
  held_->people[0].script.resize(*step);
}

bool Branch::is_held() const {
  return held_ && installer().done != 0;
}

void Branch::hold_before(std::optional<std::size_t> step) {
  const std::size_t before = held_ ? held_->people[0].script.size() : steps().size();
  if (std::min(step.value_or(steps().size()), steps().size()) == before) return;
  const bool was_held = is_held();
  set_hold(step);
  if (was_held) return go_on_as_if_never_held(before);
  connect();
}

void Branch::go_on_as_if_never_held(std::size_t held_before) {
  const sim::Instant at = now();
  const sim::Record old = record_;
  const auto touched = [&](const Moment& moment) {
    const model::PersonState& person = moment.world.people[0];
    return person.done != 0 && person.step == held_before;
  };
  std::erase_if(kept_, touched);
  run_again_to(at);
  ++events_;
  if (!begins_with(record_, old)) ++rewritings_;
}

void Branch::add_step(const model::Step& step) {
  scenario_.people[0].script.push_back(step);
  // Whoever still has something to do comes to it by themselves; else the run has to hear of it where they
  // had.
  if (installer_idle()) rewrite(steps().size() - 1, false);
}

void Branch::change_step(std::size_t index, const model::Step& step) {
  scenario_.people[0].script[index] = step;
  if (installer().step > index || steps_begun() > index) rewrite(index, true);
}

std::uint32_t Branch::add_check(const model::Check& check) {
  scenario_.checks.push_back(check);
  return static_cast<std::uint32_t>(scenario_.checks.size() - 1);
}

/// Goes back to where the step's change cannot have shown yet, and forward again to now.
void Branch::rewrite(std::size_t first_changed, bool begins_alike) {
  const sim::Instant back_to = now();
  const sim::Record old = record_;
  future_.clear();
  const auto untouched = [&](const Moment& moment) {
    const model::PersonState& person = moment.world.people[0];
    if (person.done != 0) return false;
    return person.step < first_changed || (begins_alike && model::steps_begun(person) <= first_changed);
  };
  kept_.erase(std::find_if_not(kept_.begin(), kept_.end(), untouched), kept_.end());
  if (kept_.empty()) {
    begin();
  } else {
    put_at(kept_.back());
  }
  run_until(back_to, no_limit);
  if (!begins_with(record_, old)) ++rewritings_;
  // The step that waits for its hour may yet change, and the ones after it will come: both start again from
  // here.
  if (!installer_idle()) keep_moment();
}

model::Scenario Branch::begun() const {
  model::Scenario scenario = scenario_;
  scenario.people[0].script.resize(steps_begun());
  return scenario;
}

}  // namespace drybus::tools
