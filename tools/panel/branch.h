// One course of events at the bench: a scenario whose installer's script grows while it runs, and the run
// itself, which can be put at any moment of its past and goes on from there as it did.
//
// Nothing is ever done to the world from outside the script. Whoever presses a button adds a step with its
// time, and the run passes through that step just as `drybus run` will when the scenario is saved: that is
// why both end with the same digest. Where a step changes that the run has already looked at (a finger comes
// up, so now the press has a length), the run is put back before it and goes forward again.
#pragma once

#include <limits>
#include <optional>
#include <vector>

#include "model/findings/findings.h"
#include "model/run/run.h"
#include "model/world/simulation.h"
#include "tools/panel/onlooker.h"

namespace drybus::tools {

/// For a run that is bounded by its time alone.
inline constexpr std::size_t no_limit = std::numeric_limits<std::size_t>::max();

class Branch {
 public:
  /// Runs to the end of what happens at the very start; held before that step, as by hold_before.
  explicit Branch(model::Scenario scenario, std::optional<std::size_t> held_before = std::nullopt);
  Branch(const Branch&) = delete;
  Branch& operator=(const Branch&) = delete;

  [[nodiscard]] const model::Scenario& scenario() const { return scenario_; }
  [[nodiscard]] const model::World& world() const { return moment_.world; }
  [[nodiscard]] const Onlooker& onlooker() const { return moment_.onlooker; }
  /// Up to now.
  [[nodiscard]] const sim::Record& record() const { return record_; }
  /// Up to `reached`.
  [[nodiscard]] const sim::Record& known() const {
    return record_.size() < future_.size() ? future_ : record_;
  }
  [[nodiscard]] std::vector<model::Observation> observations() const;
  /// The outcome of the check that a What::checked entry of the record tells of.
  [[nodiscard]] const model::CheckResult* outcome(sim::EntryId checked) const;

  [[nodiscard]] sim::Instant now() const { return moment_.world.now; }
  /// As far as this branch was ever run.
  [[nodiscard]] sim::Instant reached() const { return reached_; }
  [[nodiscard]] sim::Instant next_at() const { return moment_.world.queue.next_at(); }
  /// The record is as long as it may become; time goes no further.
  [[nodiscard]] bool full() const { return record_.size() >= most_entries; }
  /// Grows with every event that is run, also again.
  [[nodiscard]] std::uint64_t events() const { return events_; }
  /// Grows when what was told of the past is no longer so.
  [[nodiscard]] std::uint32_t rewritings() const { return rewritings_; }

  [[nodiscard]] const model::PersonState& installer() const { return moment_.world.people[0]; }
  [[nodiscard]] const std::vector<model::Step>& steps() const { return scenario_.people[0].script; }
  /// Steps of the installer that have begun by now.
  [[nodiscard]] std::size_t steps_begun() const;
  /// A step is in hand, if only as a walk to it.
  [[nodiscard]] bool installer_at_work() const { return steps_begun() > installer().step; }
  /// Nothing left to do.
  [[nodiscard]] bool installer_idle() const { return installer().done != 0; }

  /// Goes on by one event. REQUIRES: one is pending.
  void step();
  /// Goes on to `until`, with at most so many events; whether it got there.
  bool run_until(sim::Instant until, std::size_t most_events);
  /// Puts the run at a moment of its past, from 0 to `reached`.
  void seek(sim::Instant at);

  /// The installer does not turn to that step (nothing: goes through with all), however many steps one moment
  /// holds. Whoever was held goes on at once, and the record is then as if nobody had ever been held.
  /// REQUIRES: the step has not begun.
  void hold_before(std::optional<std::size_t> step);
  /// The installer would go on, and is held. Nothing else is to be run then.
  [[nodiscard]] bool is_held() const;

  /// What the installer does next, after all that is in the script. REQUIRES: now() == reached().
  void add_step(const model::Step& step);
  /// A step becomes another one that begins alike. REQUIRES: now() == reached().
  void change_step(std::size_t index, const model::Step& step);
  /// For the checks of steps to be added; answers the new check's index.
  std::uint32_t add_check(const model::Check& check);

  /// A scenario with the installer's steps that have begun by now, and no others.
  [[nodiscard]] model::Scenario begun() const;

  static constexpr std::size_t most_entries = 400'000;
  static constexpr std::size_t most_checkpoints = 96;

 private:
  /// All that it takes to go on from a moment, but for the record's entries.
  struct Moment {
    model::World world;
    model::FindingWatch watch;
    Onlooker onlooker;
    std::size_t entries = 0;
  };
  struct Outcome {
    sim::EntryId entry = sim::no_entry;
    model::CheckResult result;
  };

  [[nodiscard]] Moment first_moment() const;
  void begin();
  void settle();
  void keep_moment();
  void thin_out();
  void put_at(const Moment& moment);
  void connect();
  void run_again_to(sim::Instant at);
  void rewrite(std::size_t first_changed, bool begins_alike);
  void go_on_as_if_never_held(std::size_t held_before);
  void set_hold(std::optional<std::size_t> step);
  bool judge(std::uint32_t check, sim::EntryId step);

  model::Scenario scenario_;
  /// The same, but the installer's script ends where they are held: a script that ends is how a run knows that
  /// nobody goes on.
  std::optional<model::Scenario> held_;
  Moment moment_;
  sim::Record record_;
  sim::Record future_;  ///< after going back: all that was recorded, also what is to come again
  std::vector<Outcome> outcomes_;
  std::vector<Moment> kept_;  ///< moments to start again from, ascending
  std::size_t kept_begun_ = 0;
  std::optional<model::Simulation> simulation_;
  std::optional<model::Driver> driver_;
  sim::Instant reached_ = sim::start_of_run;
  std::uint64_t events_ = 0;
  std::uint32_t rewritings_ = 0;
};

}  // namespace drybus::tools
