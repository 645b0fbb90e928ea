// A family's devices and a mutant's side by side, as a space to be explored (sim/explore.h): the same
// installer takes the same steps in both worlds, until some fact of some device is not the same in both. What
// the one sends and the other does not is noticed by what hears it.
#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/hunt/moves.h"
#include "model/hunt/space.h"
#include "model/suite/mutants.h"
#include "model/world/key.h"
#include "model/world/simulation.h"

namespace drybus::model {

struct PairState {
  World reference;
  World mutant;
  MovesMade made{};
};

/// A fact that is not the same in both worlds.
struct Difference {
  sim::Instant at{};
  bool at_end = false;  ///< of a move, when the installer could look; else somewhere within it
  Fact fact = Fact::indicator;
  DeviceId device = no_device;
  std::string wanted;  ///< with the family as it is
  std::string actual;  ///< with the mutant
};

class PairSpace {
 public:
  using State = PairState;

  /// From the end of the scenario's script. All three must outlive the space.
  PairSpace(const Scenario& scenario, const Mutant& mutant, const Moves& moves);

  void start(State& state) const { state = start_; }

  template <class Visit>
  void expand(const State& from, Visit&& visit) {
    const Nested nested{*this};
    for (std::size_t i = 0; i < moves_.table().size(); ++i) {
      if (!moves_.possible(moves_.table()[i], from.reference, from.made)) continue;
      const auto action = static_cast<sim::Action>(i);
      const bool broken = make(from, action);
      visit(action, std::as_const(frame().state), broken);
    }
    list_waits(from);
    for (const auto& wait : frame().waits) {
      const bool broken = make(from, wait.action);
      visit(wait.action, std::as_const(frame().state), broken);
    }
  }

  template <class Visit>
  void repeat(const State& from, std::span<const sim::Action> actions, Visit&& visit) {
    const Nested nested{*this};
    list_waits(from);
    for (const sim::Action action : actions) {
      make(from, action);
      visit(action, std::as_const(frame().state));
    }
  }

  void write_key(const State& state, std::vector<std::byte>& key);

  /// What an action in a state stands for, and the difference that it brings about, if it does.
  struct Told {
    std::vector<Step> installer;  ///< one
    std::vector<Step> mains;      ///< power that is cut meanwhile: one, or none
    State after;
    std::optional<Difference> difference;
  };
  [[nodiscard]] Told tell(const State& from, sim::Action action);

  /// Between two moves.
  [[nodiscard]] std::optional<Difference> difference_in(const State& state) const;

 private:
  /// Where a move is made. Moves are made within visits of earlier ones: one frame for each depth.
  struct Frame {
    Frame(const Scenario& reference, const Scenario& mutant, State start);
    Frame(const Frame&) = delete;
    Frame& operator=(const Frame&) = delete;

    State state;
    Simulation reference;
    Simulation mutant;
    std::vector<Wait> waits;
    std::optional<Difference> difference;
  };
  struct Nested {
    explicit Nested(PairSpace& of) : space(of) { space.enter(); }
    ~Nested() { --space.depth_; }
    Nested(const Nested&) = delete;
    Nested& operator=(const Nested&) = delete;
    PairSpace& space;
  };

  void enter();
  Frame& frame() { return *frames_[depth_ - 1]; }
  void list_waits(const State& from);
  bool make(const State& from, sim::Action action);
  void begin(const State& from, sim::Action action);
  void begin_cut(const State& from, const Move& move);
  [[nodiscard]] Step step_of(const State& from, sim::Action action);
  [[nodiscard]] bool done(const World& world) const;
  void go_on_until(Driver& driver, const Simulation& simulation, sim::Instant at);
  void look_between(sim::Instant at, sim::Instant next);
  [[nodiscard]] std::optional<Difference> difference_at(const World& reference, const World& mutant,
                                                        sim::Instant at) const;

  const Moves& moves_;
  std::uint32_t mains_;
  /// The script of both is the move that is being made.
  Scenario reference_;
  Scenario mutant_;
  State start_;
  WorldKey reference_key_;
  WorldKey mutant_key_;
  std::vector<std::unique_ptr<Frame>> frames_;
  std::size_t depth_ = 0;
  std::vector<Wait> others_;
};

}  // namespace drybus::model
