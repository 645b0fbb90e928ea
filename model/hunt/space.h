// A hunt as a space to be explored (sim/explore.h): worlds between two steps of the installer, and the moves between them.
//
// A move is a step of a script, taken by the same installer that takes a scenario's steps: what is found here is what
// `run` does with those steps, event by event. While one is taken nothing is allocated and nothing is recorded.
#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <utility>
#include <vector>

#include "model/hunt/goal.h"
#include "model/hunt/moves.h"
#include "model/run/driver.h"
#include "model/world/installer.h"
#include "model/world/key.h"
#include "model/world/simulation.h"

namespace drybus::model {

/// A move takes seconds, a wait an hour at most: more than this is a device that never rests.
inline constexpr std::uint64_t most_events_of_a_move = 1'000'000;

struct HuntState {
  World world;
  MovesMade made{};                  ///< of the kinds that are limited
  std::vector<sim::Instant> memory;  ///< see Judge
};

/// What all threads of a hunt share. `scenario` is the hunted one with what the moves need: see `ready_for_moves`.
struct HuntPlan {
  Scenario scenario;
  Moves moves;
  HuntGoal goal;
  HuntState start;
  Alike alike;
  std::uint32_t mains = 0;  ///< the person who cuts the power in mid-step
};

/// A scenario with a look at every device's indicator among its checks, and a person who minds the mains.
Scenario ready_for_moves(Scenario scenario);

/// The world in which moves begin: the installer has come to the end of their script, others may still be at work, and
/// whoever minds the mains has nothing to do yet. Devices react as `logic` has it; null: as the site says. `record`, if
/// any, tells what led there. Throws std::invalid_argument after `default_run_bound`.
World world_for_moves(const Scenario& scenario, DeviceLogic* logic = nullptr, sim::Record* record = nullptr);

/// A hunt from the end of the scenario's script. `symmetry`: like modules count as interchangeable. The scenario must
/// outlive the plan.
HuntPlan plan_for(const Scenario& scenario, const HuntGoal& goal, const MoveBudget& budget, bool symmetry);
HuntPlan plan_for(Scenario&& scenario, const HuntGoal& goal, const MoveBudget& budget,
                  bool symmetry) = delete;

class HuntSpace {
 public:
  using State = HuntState;

  /// The plan must outlive the space.
  explicit HuntSpace(const HuntPlan& plan);

  void start(State& state) const { state = plan_->start; }

  template <class Visit>
  void expand(const State& from, Visit&& visit) {
    const Nested nested{*this};
    State& state = frame().state;
    const std::size_t moves = plan_->moves.table().size();
    for (std::size_t i = 0; i < moves; ++i) {
      const Move& move = plan_->moves.table()[i];
      if (!plan_->moves.possible(move, from.world, from.made)) continue;
      const bool broken = make(from, i);
      visit(static_cast<sim::Action>(i), std::as_const(state), broken);
    }
    each_wait(from, [&](const Wait& wait, bool broken) { visit(wait.action, std::as_const(state), broken); });
  }

  template <class Visit>
  void repeat(const State& from, std::span<const sim::Action> actions, Visit&& visit) {
    const Nested nested{*this};
    State& state = frame().state;
    while (!actions.empty() && !plan_->moves.is_wait(actions.front())) {
      make(from, actions.front());
      visit(actions.front(), std::as_const(state));
      actions = actions.subspan(1);
    }
    if (actions.empty()) return;
    each_wait(from, [&](const Wait& wait, bool) {
      if (actions.empty() || wait.action != actions.front()) return;
      visit(wait.action, std::as_const(state));
      actions = actions.subspan(1);
    });
  }

  void write_key(const State& state, std::vector<std::byte>& key);

  /// The steps that an action in a state stands for: the installer's, and of the mains if power is cut meanwhile.
  struct Steps {
    Step installer;
    std::optional<Step> mains;
  };
  [[nodiscard]] Steps steps_of(const State& from, sim::Action action);

  /// What was noted in all moves so far.
  [[nodiscard]] Notes noted() const { return noted_; }

 private:
  /// Where a move is made. Moves are made within visits of earlier ones: one frame for each depth.
  struct Frame {
    Frame(const Scenario& scenario, State start, bool with_record)
        : state(std::move(start)),
          simulation(scenario, state.world, with_record ? &record : nullptr),
          driver(simulation, Budget{most_events_of_a_move, Budget{}.record_bytes}) {}
    Frame(const Frame&) = delete;
    Frame& operator=(const Frame&) = delete;

    State state;
    State aside;
    sim::Record record;
    std::size_t seen = 0;  ///< of the record
    Simulation simulation;
    Driver driver;
    std::vector<Wait> waits;
  };
  struct Nested {
    explicit Nested(HuntSpace& of) : space(of) { space.enter(); }
    ~Nested() { --space.depth_; }
    Nested(const Nested&) = delete;
    Nested& operator=(const Nested&) = delete;
    HuntSpace& space;
  };

  void enter();
  Frame& frame() { return *frames_[depth_ - 1]; }
  bool make(const State& from, std::size_t move);
  bool take_step(const State& from, const Move* move, std::vector<Step>& script);
  void set_out(const State& from);
  void cut_power_later(const State& from, const Move& move);
  [[nodiscard]] bool done();
  bool look_after_event();
  void write_memory(const State& state, std::vector<std::byte>& key);
  bool broken_by_now(bool broken_on_the_way, const State& from, const Move* move, std::vector<Step>& script);
  bool broken_by_record(const State& from, const Move* move, std::vector<Step>& script);
  [[nodiscard]] bool may_send_assign(const State& from, const Step& step) const;
  void list_waits(const State& from);
  bool wait_until(sim::Instant until);

  /// Lets time pass once for all waits, the shortest first; done(wait, broken) is called as each ends.
  template <class Done>
  void each_wait(const State& from, Done&& done) {
    list_waits(from);
    if (frame().waits.empty()) return;
    const sim::Instant begin = from.world.now;
    set_out(from);
    plan_->moves.count(nullptr, frame().state.made);
    bool broken = false;
    for (const Wait& wait : frame().waits) {
      broken = wait_until(begin + wait.duration) || broken;
      if (frame().simulation.next_at() == begin + wait.duration) {
        // Something else is due at the very end, and whether it comes first depends on when the wait began.
        one_wait(from, wait, done);
        continue;
      }
      wait_script_[0].duration = wait.duration;
      done(wait, broken_by_now(broken, from, nullptr, wait_script_));
    }
  }

  template <class Done>
  void one_wait(const State& from, const Wait& wait, Done&& done) {
    // In place of the frame's own state, which goes on to the next wait afterwards.
    std::swap(frame().state, frame().aside);
    wait_script_[0].duration = wait.duration;
    const bool broken = take_step(from, nullptr, wait_script_);
    done(wait, broken);
    std::swap(frame().state, frame().aside);
  }

  const HuntPlan* plan_;
  std::unique_ptr<Scenario>
      scenario_;  ///< this thread's own: the script in it is the move that is being made
  std::vector<std::vector<Step>> scripts_;  ///< of each move
  std::vector<Step> wait_script_;
  Judge judge_;
  WorldKey key_;
  std::vector<std::byte> rest_of_key_;
  std::vector<std::unique_ptr<Frame>> frames_;
  std::size_t depth_ = 0;
  Notes noted_ = 0;
  Notes noted_in_move_ = 0;
  std::vector<sim::Duration> deadlines_;
};

}  // namespace drybus::model
