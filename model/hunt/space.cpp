#include "model/hunt/space.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <stdexcept>

#include "model/record/describe.h"
#include "model/run/run.h"
#include "model/words/words.h"
#include "sim/key_parts.h"

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

World world_for_moves(const Scenario& scenario, DeviceLogic* logic, sim::Record* record) {
  World world = initial_world(scenario);
  Simulation simulation{scenario, world, record};
  if (logic != nullptr) simulation.use_logic(logic);
  simulation.begin();
  const auto is_done = [&] { return world.people[0].done != 0; };
  if (!Driver{simulation}.go_on(
          is_done, [] {}, sim::start_of_run + default_run_bound)) {
    throw std::invalid_argument{tr("the script is not over after {}", duration_text(default_run_bound))};
  }
  world.people.push_back({scenario.people[0].place, 0, 0, 1});
  return world;
}

HuntPlan plan_for(const Scenario& scenario, const HuntGoal& goal, const MoveBudget& budget, bool symmetry) {
  Scenario ready = ready_for_moves(scenario);
  HuntState start{world_for_moves(scenario), {}, {}};
  const auto first_look = static_cast<std::uint32_t>(scenario.checks.size());
  const auto mains = static_cast<std::uint32_t>(scenario.people.size());
  Moves moves{scenario, budget, first_look};
  const Judge judge{ready, goal};
  start.memory.assign(judge.memory_size(), sim::never);
  Alike alike;
  if (symmetry) alike = alike_modules(scenario, start.world, judge.asks_for_intended(), judge.named());
  return {std::move(ready), std::move(moves), goal, std::move(start), std::move(alike), mains};
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
    frames_.push_back(std::make_unique<Frame>(*scenario_, plan_->start, judge_.needs_entries()));
  }
  ++depth_;
}

// --- one move ----------------------------------------------------------------------------------------------------

bool HuntSpace::make(const State& from, std::size_t move) {
  return take_step(from, &plan_->moves.table()[move], scripts_[move]);
}

bool HuntSpace::take_step(const State& from, const Move* move, std::vector<Step>& script) {
  set_out(from);
  plan_->moves.count(move, frame().state.made);
  if (move != nullptr) {
    plan_->moves.fill_in(*move, from.world, script[0]);
    if (move->cut) cut_power_later(from, *move);
  }
  scenario_->people[0].script.swap(script);
  Simulation& simulation = frame().simulation;
  frame().state.world.people[0] = {from.world.people[0].place, 0, 0, 0};
  go_on(simulation, 0, sim::no_entry);
  bool broken = look_after_event();
  frame().driver.go_on([this] { return done(); }, [&] { broken = look_after_event() || broken; });
  scenario_->people[0].script.swap(script);
  return broken_by_now(broken, from, move, script);
}

void HuntSpace::set_out(const State& from) {
  Frame& here = frame();
  here.state = from;
  here.record.clear();
  here.seen = 0;
  here.driver.renew();
  static_cast<void>(here.simulation.take_noted());
  noted_in_move_ = 0;
}

bool HuntSpace::done() {
  const auto& people = frame().state.world.people;
  return people[0].done != 0 && people[plan_->mains].done != 0;
}

void HuntSpace::cut_power_later(const State& from, const Move& move) {
  scenario_->people[plan_->mains].script[0].device = *move.cut;
  frame().state.world.people[plan_->mains] = {0, 0, 0, 0};
  frame().simulation.schedule(plan_->moves.time_of_cut(move, from.world) - from.world.now, Happening::person,
                              plan_->mains, 0, sim::no_entry);
}

// --- whether it broke the invariant --------------------------------------------------------------------------------

bool HuntSpace::look_after_event() {
  Frame& here = frame();
  const Notes noted = here.simulation.take_noted();
  noted_in_move_ |= noted;
  switch (judge_.by()) {
    case Judge::By::state:
    case Judge::By::note:
      return (noted & judge_.relevant()) != 0 && judge_.broken_by_event(here.state.world);
    case Judge::By::memory: {
      if (!judge_.needs_entries()) {
        return (noted & judge_.relevant()) != 0 &&
               judge_.remember_contacts(here.state.world, here.state.memory);
      }
      const auto fresh = here.record.entries().subspan(here.seen);
      here.seen = here.record.size();
      return judge_.remember(here.state.world, fresh, here.state.memory);
    }
    case Judge::By::record:
    case Judge::By::end:
      return false;
  }
  return false;
}

bool HuntSpace::broken_by_now(bool broken_on_the_way, const State& from, const Move* move,
                              std::vector<Step>& script) {
  noted_ |= noted_in_move_;
  if (broken_on_the_way) return true;
  if (judge_.by() == Judge::By::end) return judge_.broken_at_end(frame().state.world);
  if (judge_.by() == Judge::By::memory)
    return judge_.broken_by_memory(frame().state.world, frame().state.memory);
  if (judge_.by() != Judge::By::record || !judge_.is_suspicious(noted_in_move_)) return false;
  if (plan_->goal.finding == FindingId::assign_unheard && !may_send_assign(from, script[0])) return false;
  return broken_by_record(from, move, script);
}

/// Only a shortcut: most steps send something, but few an assign.
bool HuntSpace::may_send_assign(const State& from, const Step& step) const {
  if (scenario_->site.logic) return true;  // who knows when it sends
  const Site& site = scenario_->site;
  Buttons assign = 0;
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate)
    assign |= only(site.plate_family(plate).assign);
  const auto may = [&](Buttons buttons) { return (buttons & assign) != 0; };
  const World& world = from.world;
  const bool busy = !world.medium.waiting().empty() || !world.medium.on_the_medium().empty();
  const bool others =
      std::any_of(world.people.begin() + 1, world.people.end(), [](const auto& p) { return p.done == 0; });
  const bool held =
      std::any_of(world.devices.begin(), world.devices.end(), [&](const auto& d) { return may(d.contacts); });
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
    simulation.schedule(plan_->moves.time_of_cut(*move, from.world) - world.now, Happening::person,
                        plan_->mains, 0, sim::no_entry);
  }
  scenario_->people[0].script.swap(script);
  world.people[0] = {world.people[0].place, 0, 0, 0};
  go_on(simulation, 0, sim::no_entry);
  watch.observe(*scenario_, world, record);
  Driver{simulation}.go_on([&] { return world.people[0].done != 0 && world.people[plan_->mains].done != 0; },
                           [&] { watch.observe(*scenario_, world, record); });
  scenario_->people[0].script.swap(script);
  return judge_.broken_by_record(watch, world);
}

// --- waits ---------------------------------------------------------------------------------------------------------

void HuntSpace::list_waits(const State& from) {
  std::vector<Wait>& waits = frame().waits;
  waits.clear();
  deadlines_.clear();
  judge_.add_deadlines(from.world, from.memory, deadlines_);
  add_changes_to_come(plan_->scenario, from.world, deadlines_);
  plan_->moves.add_waits(from.world, from.made, deadlines_, waits);
}

/// Everything that comes before `until` happens. What is due at that very instant does not.
bool HuntSpace::wait_until(sim::Instant until) {
  Frame& here = frame();
  bool broken = false;
  here.driver.go_on([&] { return here.simulation.next_at() >= until; },
                    [&] { broken = look_after_event() || broken; });
  here.state.world.now = until;
  return broken;
}

// --- states and steps ----------------------------------------------------------------------------------------------

void HuntSpace::write_key(const State& state, std::vector<std::byte>& key) {
  key_.write(state.world, key);
  rest_of_key_.clear();
  plan_->moves.add_to_key(state.made, rest_of_key_);
  if (!state.memory.empty()) write_memory(state, rest_of_key_);
  sim::add_part(key, rest_of_key_);
}

/// What of the memory can still matter, each with its place; like devices in the order in which the world's key has them.
void HuntSpace::write_memory(const State& state, std::vector<std::byte>& key) {
  std::uint64_t place = 0;
  for (const DeviceId device : key_.order()) {
    for (std::size_t i = judge_.first_remembered(device); i < judge_.first_remembered(device + 1u);
         ++i, ++place) {
      const sim::Duration age = judge_.age(state.world, state.memory[i]);
      if (age == Judge::gone) continue;
      const std::array<std::uint64_t, 2> words{place, static_cast<std::uint64_t>(age.count())};
      const auto bytes = std::as_bytes(std::span{words});
      key.insert(key.end(), bytes.begin(), bytes.end());
    }
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
      steps.mains->at = plan_->moves.time_of_cut(move, from.world);
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
