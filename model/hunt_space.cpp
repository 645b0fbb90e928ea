#include "model/hunt_space.h"

#include <algorithm>

namespace drybus::model {

Scenario ready_for_moves(Scenario scenario) {
  for (std::size_t device = 0; device < scenario.site.device_count(); ++device) {
    Check look;
    look.fact = Fact::indicator;
    look.device = static_cast<DeviceId>(device);
    look.wanted = {std::string{to_string(Pattern::dark)}};
    look.seen = true;
    scenario.checks.push_back(look);
  }
  scenario.people.push_back({"mains", scenario.people[0].place, {}});
  return scenario;
}

HuntSpace::HuntSpace(const HuntPlan& plan)
    : plan_(&plan),
      scenario_(std::make_unique<Scenario>(plan.scenario)),
      wait_script_(1),
      judge_(*scenario_, plan.goal),
      key_(*scenario_, plan.start.world, plan.alike) {
  for (const Move& move : plan.moves.table()) scripts_.push_back({move.step});
  scenario_->people[0].script.clear();
  Step power;
  power.kind = StepKind::power;
  power.on = false;
  scenario_->people[plan.mains].script = {power};
}

void HuntSpace::enter() {
  if (frames_.size() == depth_) {
    frames_.push_back(std::make_unique<Frame>(*scenario_, plan_->start, judge_.by() == Judge::By::memory));
  }
  ++depth_;
}

// --- one move ----------------------------------------------------------------------------------------------------

bool HuntSpace::make(const State& from, std::size_t move) {
  return take_step(from, &plan_->moves.table()[move], scripts_[move]);
}

bool HuntSpace::take_step(const State& from, const Move* move, std::vector<Step>& script) {
  set_out(from);
  count(move == nullptr ? MoveKind::waits : move->kind, frame().state.made);
  if (move != nullptr) {
    if (move->free) frame().state.made = from.made;
    plan_->moves.fill_in(*move, from.world, script[0]);
    if (move->cut) cut_power_later(from, *move);
  }
  scenario_->people[0].script.swap(script);
  Simulation& simulation = frame().simulation;
  frame().state.world.people[0] = {from.world.people[0].place, 0, 0, 0};
  go_on(simulation, 0, sim::no_entry);
  bool broken = look_after_event();
  while (!done()) {
    simulation.step();
    broken = look_after_event() || broken;
  }
  scenario_->people[0].script.swap(script);
  return broken_by_now(broken, from, move, script);
}

void HuntSpace::set_out(const State& from) {
  Frame& here = frame();
  here.state = from;
  here.record.clear();
  here.seen = 0;
  static_cast<void>(here.simulation.take_noted());
  noted_in_move_ = 0;
}

void HuntSpace::count(MoveKind kind, MovesMade& made) const {
  if (plan_->moves.budget()[kind] != MoveBudget::unlimited) ++made[static_cast<std::size_t>(kind)];
}

bool HuntSpace::done() {
  const auto& people = frame().state.world.people;
  return people[0].done != 0 && people[plan_->mains].done != 0;
}

sim::Instant HuntSpace::time_of_cut(const State& from, const Move& move) const {
  const Site& site = scenario_->site;
  const PlaceId stands = from.world.people[0].place;
  const PlaceId there = site.place(move.step.device);
  const sim::Duration walk = stands == there ? sim::Duration::zero() : site.walk(stands, there);
  return from.world.now + walk + plan_->moves.cut_after();
}

void HuntSpace::cut_power_later(const State& from, const Move& move) {
  scenario_->people[plan_->mains].script[0].device = *move.cut;
  frame().state.world.people[plan_->mains] = {0, 0, 0, 0};
  frame().simulation.schedule(time_of_cut(from, move) - from.world.now, Happening::person, plan_->mains, 0,
                              sim::no_entry);
}

// --- whether it broke the invariant --------------------------------------------------------------------------------

bool HuntSpace::look_after_event() {
  Frame& here = frame();
  const Notes noted = here.simulation.take_noted();
  noted_in_move_ |= noted;
  switch (judge_.by()) {
    case Judge::By::state:
    case Judge::By::note: return (noted & judge_.relevant()) != 0 && judge_.broken_by_event(here.state.world);
    case Judge::By::memory: {
      const auto fresh = here.record.entries().subspan(here.seen);
      here.seen = here.record.size();
      return judge_.remember(here.state.world, fresh, here.state.memory);
    }
    case Judge::By::record:
    case Judge::By::end: return false;
  }
  return false;
}

bool HuntSpace::broken_by_now(bool broken_on_the_way, const State& from, const Move* move, std::vector<Step>& script) {
  noted_ |= noted_in_move_;
  if (broken_on_the_way) return true;
  if (judge_.by() == Judge::By::end) return judge_.broken_at_end(frame().state.world);
  if (judge_.by() != Judge::By::record || !judge_.is_suspicious(noted_in_move_)) return false;
  if (plan_->goal.finding == FindingId::assign_unheard && !may_send_assign(from, script[0])) return false;
  return broken_by_record(from, move, script);
}

/// Only a shortcut: most steps send something, but few an assign.
bool HuntSpace::may_send_assign(const State& from, const Step& step) const {
  if (scenario_->site.logic) return true;  // who knows when it sends
  const Buttons assign = only(scenario_->site.family.plate.assign);
  const auto may = [&](Buttons buttons) { return (buttons & assign) != 0; };
  const World& world = from.world;
  const bool busy = !world.medium.waiting().empty() || !world.medium.on_the_medium().empty();
  const bool others = std::any_of(world.people.begin() + 1, world.people.end(), [](const auto& p) { return p.done == 0; });
  const bool held = std::any_of(world.devices.begin(), world.devices.end(), [&](const auto& d) { return may(d.contacts); });
  return busy || others || held || may(step.buttons);
}

/// Takes the step once more, now with a record and whoever watches whole runs.
bool HuntSpace::broken_by_record(const State& from, const Move* move, std::vector<Step>& script) {
  World world = from.world;
  sim::Record record;
  FindingWatch watch{*scenario_};
  Simulation simulation{*scenario_, world, &record};
  if (move != nullptr && move->cut) {
    world.people[plan_->mains] = {0, 0, 0, 0};
    simulation.schedule(time_of_cut(from, *move) - world.now, Happening::person, plan_->mains, 0, sim::no_entry);
  }
  scenario_->people[0].script.swap(script);
  world.people[0] = {world.people[0].place, 0, 0, 0};
  go_on(simulation, 0, sim::no_entry);
  watch.observe(*scenario_, world, record);
  while (world.people[0].done == 0 || world.people[plan_->mains].done == 0) {
    simulation.step();
    watch.observe(*scenario_, world, record);
  }
  scenario_->people[0].script.swap(script);
  return judge_.broken_by_record(watch, world);
}

// --- waits ---------------------------------------------------------------------------------------------------------

void HuntSpace::list_waits(const State& from) {
  std::vector<Wait>& waits = frame().waits;
  waits.clear();
  deadlines_.clear();
  judge_.add_deadlines(from.world, from.memory, deadlines_);
  plan_->moves.add_waits(from.world, from.made, deadlines_, waits);
}

/// Everything that comes before `until` happens. What is due at that very instant does not.
bool HuntSpace::wait_until(sim::Instant until) {
  Frame& here = frame();
  bool broken = false;
  while (here.simulation.next_at() < until) {
    here.simulation.step();
    broken = look_after_event() || broken;
  }
  here.state.world.now = until;
  if (judge_.by() == Judge::By::memory) broken = look_after_event() || broken;
  return broken;
}

// --- states and steps ----------------------------------------------------------------------------------------------

void HuntSpace::write_key(const State& state, std::vector<std::byte>& key) {
  key_.write(state.world, key);
  for (std::size_t kind = 0; kind < move_kinds; ++kind) {
    const std::uint8_t limit = plan_->moves.budget().of[kind];
    if (limit != 0 && limit != MoveBudget::unlimited) key.push_back(static_cast<std::byte>(state.made[kind]));
  }
  for (const sim::Instant remembered : state.memory) {
    const auto age = static_cast<std::uint64_t>(judge_.age(state.world, remembered).count());
    const auto bytes = std::as_bytes(std::span{&age, 1});
    key.insert(key.end(), bytes.begin(), bytes.end());
  }
}

HuntSpace::Steps HuntSpace::steps_of(const State& from, sim::Action action) {
  Steps steps;
  if (!plan_->moves.is_wait(action)) {
    const Move& move = plan_->moves.table()[action];
    steps.installer = move.step;
    plan_->moves.fill_in(move, from.world, steps.installer);
    if (move.cut) {
      steps.mains = scenario_->people[plan_->mains].script[0];
      steps.mains->device = *move.cut;
      steps.mains->at = time_of_cut(from, move);
    }
    return steps;
  }
  const Nested nested{*this};
  list_waits(from);
  steps.installer.kind = StepKind::wait;
  for (const Wait& wait : frame().waits) {
    if (wait.action == action) steps.installer.duration = wait.duration;
  }
  return steps;
}

}  // namespace drybus::model
