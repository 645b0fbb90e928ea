#include "model/hunt/tell_apart.h"

#include <algorithm>
#include <memory>
#include <utility>

#include "model/firmware/logic.h"
#include "model/hunt/space.h"
#include "model/record/observables.h"
#include "model/world/facts.h"
#include "model/world/installer.h"
#include "model/world/key.h"

namespace drybus::model {

namespace {

/// Two worlds that have gone through the same.
struct Pair {
  World a;
  World b;
  MovesMade made{};
};

/// One of the two logics, and where its moves are made. The script in the scenario is the move that is being
/// made.
class Side {
 public:
  explicit Side(const Scenario& scenario)
      : scenario_(std::make_unique<Scenario>(ready_for_moves(scenario))) {}

  [[nodiscard]] const Scenario& scenario() const { return *scenario_; }

  /// What comes of a step of the installer's. False when a firmware did what it must not.
  bool take(World& world, const Step& step, sim::Record& record) {
    record.clear();
    scenario_->people[0].script.assign(1, step);
    world.people[0] = {world.people[0].place, 0, 0, 0};
    Simulation simulation{*scenario_, world, &record};
    try {
      go_on(simulation, 0, sim::no_entry);
      Driver{simulation}.carry(0);
    } catch (const FirmwareFault&) {
      return false;
    }
    return true;
  }

 private:
  std::unique_ptr<Scenario> scenario_;
};

bool differ(const sim::Record& a, const sim::Record& b) {
  const auto next = [](const sim::Record& record, std::size_t i) {
    while (i < record.size() && !is_observable(record.entries()[i])) ++i;
    return i;
  };
  for (std::size_t i = next(a, 0), j = next(b, 0);; i = next(a, i + 1), j = next(b, j + 1)) {
    if (i == a.size() || j == b.size()) return i != a.size() || j != b.size();
    if (!is_alike(a.entries()[i], b.entries()[j])) return true;
  }
}

/// What all threads share.
struct Plan {
  const Scenario& a;
  const Scenario& b;
  Moves moves;
  Pair start;
};

class SideBySide {
 public:
  using State = Pair;

  explicit SideBySide(const Plan& plan)
      : plan_(&plan),
        a_(plan.a),
        b_(plan.b),
        key_a_(a_.scenario(), plan.start.a),
        key_b_(b_.scenario(), plan.start.b) {}

  void start(State& state) const { state = plan_->start; }

  template <class Visit>
  void expand(const State& from, Visit&& visit) {
    const std::size_t moves = plan_->moves.table().size();
    for (std::size_t i = 0; i < moves; ++i) {
      if (is_possible(plan_->moves.table()[i], from)) make(from, static_cast<sim::Action>(i), visit);
    }
    const std::size_t waits = waits_in(from).size();
    for (std::size_t i = 0; i < waits; ++i) make(from, static_cast<sim::Action>(moves + i), visit);
  }

  template <class Visit>
  void repeat(const State& from, std::span<const sim::Action> actions, Visit&& visit) {
    for (const sim::Action action : actions) {
      make(from, action, [&](sim::Action made, const State& next, bool) { visit(made, next); });
    }
  }

  void write_key(const State& state, std::vector<std::byte>& key) {
    key_a_.write(state.a, key);
    key_b_.write(state.b, key);
    rest_of_key_.clear();
    plan_->moves.add_to_key(state.made, rest_of_key_);
    sim::add_part(key, rest_of_key_);
  }

  /// The step that an action stands for.
  [[nodiscard]] Step step_of(const State& from, sim::Action action) const {
    if (!plan_->moves.is_wait(action)) {
      const Move& move = plan_->moves.table()[action];
      Step step = move.step;
      plan_->moves.fill_in(move, from.a, step);
      return step;
    }
    Step wait;
    wait.kind = StepKind::wait;
    wait.duration = waits_in(from)[action - plan_->moves.table().size()];
    return wait;
  }

 private:
  [[nodiscard]] bool is_possible(const Move& move, const State& from) const {
    return !move.cut && move.kind != MoveKind::looks && plan_->moves.possible(move, from.a, from.made) &&
           plan_->moves.possible(move, from.b, from.made);
  }

  /// Just before and just after whatever comes due in either world.
  [[nodiscard]] std::vector<sim::Duration> waits_in(const State& from) const {
    std::vector<Wait> waits;
    std::vector<sim::Duration> changes;
    add_changes_to_come(a_.scenario(), from.a, changes);
    add_changes_to_come(b_.scenario(), from.b, changes);
    plan_->moves.add_waits(from.a, from.made, changes, waits);
    plan_->moves.add_waits(from.b, from.made, {}, waits);
    std::vector<sim::Duration> durations;
    durations.reserve(waits.size());
    for (const Wait& wait : waits) durations.push_back(wait.duration);
    std::sort(durations.begin(), durations.end());
    durations.erase(std::unique(durations.begin(), durations.end()), durations.end());
    return durations;
  }

  template <class Visit>
  void make(const State& from, sim::Action action, Visit&& visit) {
    const Step step = step_of(from, action);
    State next = from;
    plan_->moves.count(plan_->moves.is_wait(action) ? nullptr : &plan_->moves.table()[action], next.made);
    const bool a_whole = a_.take(next.a, step, record_a_);
    const bool b_whole = b_.take(next.b, step, record_b_);
    const bool apart = !a_whole || !b_whole || differ(record_a_, record_b_);
    visit(action, std::as_const(next), apart);
  }

  const Plan* plan_;
  Side a_;
  Side b_;
  WorldKey key_a_;
  WorldKey key_b_;
  std::vector<std::byte> rest_of_key_;
  sim::Record record_a_;
  sim::Record record_b_;
};

/// Ends the script with what is so with the first logic and not with the second.
void add_differences(Scenario& found, const World& a, const World& b) {
  Step expect;
  expect.kind = StepKind::expect;
  const auto add = [&](DeviceId device, Fact fact) {
    const std::string is = fact_text(found, a, device, fact);
    if (is == fact_text(found, b, device, fact)) return;
    Check check;
    check.fact = fact;
    check.device = device;
    check.wanted = {is};
    expect.checks.push_back(static_cast<std::uint32_t>(found.checks.size()));
    found.checks.push_back(check);
  };
  for (std::size_t i = 0; i < found.site.device_count(); ++i) {
    const auto device = static_cast<DeviceId>(i);
    for (const Fact fact : telling_facts(found.site, device)) add(device, fact);
  }
  if (!expect.checks.empty()) found.people[0].script.push_back(expect);
}

void retell(const Plan& plan, TellApartResult& result) {
  SideBySide space{plan};
  Pair state;
  space.start(state);
  for (const sim::Action action : result.search.actions) {
    result.steps.push_back(space.step_of(state, action));
    Pair after;
    space.repeat(state, std::span{&action, 1}, [&](sim::Action, const Pair& there) { after = there; });
    state = std::move(after);
  }
  result.found = plan.a;
  auto& script = result.found.people[0].script;
  script.insert(script.end(), result.steps.begin(), result.steps.end());
  add_differences(result.found, state.a, state.b);
}

}  // namespace

TellApartResult tell_apart(const Scenario& a, const Scenario& b, const TellApartOptions& options,
                           const sim::SearchControl& control) {
  sim::Record record_a;
  sim::Record record_b;
  Pair start{world_for_moves(a, nullptr, &record_a), world_for_moves(b, nullptr, &record_b), {}};
  const auto first_look = static_cast<std::uint32_t>(a.checks.size());
  const Plan plan{a, b, Moves{a, options.budget, first_look}, std::move(start)};
  TellApartResult result;
  result.already = differ(record_a, record_b);
  if (!result.already) {
    std::vector<SideBySide> spaces;
    for (std::size_t i = 0; i < std::max<std::size_t>(1, options.jobs); ++i) spaces.emplace_back(plan);
    result.search =
        sim::Explorer<SideBySide, sim::PartedKeySet>{std::span{spaces}, options.bounds, control}.run();
    if (result.search.end != sim::SearchEnd::broken) return result;
  }
  retell(plan, result);
  return result;
}

}  // namespace drybus::model
