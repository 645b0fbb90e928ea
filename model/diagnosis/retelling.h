// The run as it was told, and what would be seen if it had gone otherwise.
//
// The run is gone through once, with copies of the world kept as the installer comes to each step. A
// hypothesis takes up the last copy before the step at which it differs, and ends where nothing is different
// any more. Modules never send, so what one of them does cannot be told by another: only those that matter
// are followed, the rest stay as they were.
#pragma once

#include <limits>
#include <optional>
#include <span>
#include <vector>

#include "model/diagnosis/catalogue.h"
#include "model/diagnosis/report.h"
#include "model/people/change.h"
#include "model/world/simulation.h"

namespace drybus::model {

/// How an observation fits what a hypothesis predicts.
BOOST_DEFINE_FIXED_ENUM_CLASS(Match, std::uint8_t, no,
                              nearly,  ///< so a moment ago, or about so bright
                              yes,
                              unknown  ///< its device was not followed
)

/// What is predicted of each observation of a report, in its order, and how likely all of them are together.
struct Prediction {
  std::vector<Match> matches;
  double log_fit = 0;          ///< of those that are known
  std::vector<Telegram> sent;  ///< by plates, beacons apart; kept only where somebody captured something
};

/// A set of modules; plates are always followed.
class Followed {
 public:
  explicit Followed(std::size_t modules, bool all = false) : in_(modules, all) {}
  void add(std::size_t module) { in_[module] = true; }
  void remove(std::size_t module) { in_[module] = false; }
  [[nodiscard]] bool has(std::size_t module) const { return in_[module]; }

 private:
  std::vector<bool> in_;
};

class Retelling {
 public:
  /// Runs what was told. Both must outlive this. Throws std::length_error when that is too much to run.
  Retelling(const Report& report, const Catalogue& catalogue);

  [[nodiscard]] const Report& report() const { return report_; }
  [[nodiscard]] const Prediction& as_told() const { return as_told_; }

  /// What would be seen with these changes to what was told; observations on modules that are not followed
  /// are unknown, and so is whatever is left once those that are known fit no better than `least`.
  [[nodiscard]] Prediction predict(std::span<const Change> changes, const Followed& followed,
                                   double least = -std::numeric_limits<double>::infinity()) const;

  /// The world at the end of what was told, with these changes.
  [[nodiscard]] World end_of(std::span<const Change> changes) const;

  /// The world as the installer came to a step as told: when the step before had been done. One past the
  /// last: the end.
  [[nodiscard]] const World& before_step(std::uint32_t step) const;

  /// How many events all predictions had together, with what it takes to begin each.
  [[nodiscard]] std::uint64_t events_predicted() const { return events_predicted_; }

  /// Log-likelihood of one observation.
  [[nodiscard]] double log_likelihood(std::uint32_t index, Match match) const;

 private:
  /// When each pattern last showed, by device.
  struct Glance {
    sim::Instant began = sim::Instant::min();
    sim::Instant ended = sim::Instant::min();
  };
  using Glances = std::vector<sim::ByEnum<Pattern, Glance>>;
  struct Kept {
    World world;
    Glances glances;
    sim::Instant act_began{};         ///< when the installer turned to what was pressed last
    std::vector<Level> loads_before;  ///< where loads went then, by module; empty: nobody asks
    std::vector<DeviceId> waiting;    ///< in setup since before the first answer, if it goes on
    std::size_t sent = 0;             ///< telegrams so far
  };
  class Course;

  void go_through(Course& course, std::uint32_t steps);
  [[nodiscard]] Changes among_looks(std::span<const Change> changes) const;
  [[nodiscard]] const Scenario& otherwise(std::span<const Change> changes, AlteredScript& script) const;
  [[nodiscard]] std::uint32_t looked_index(std::uint32_t step) const;
  /// Whether somebody says that a load stayed as it was.
  [[nodiscard]] bool asks_what_changed() const;
  void take_up(Course& course, const std::optional<std::uint32_t>& first) const;
  [[nodiscard]] const Kept* same_point_as_told(const Course& course, const AlteredScript& script,
                                               std::uint32_t last_change) const;
  void weigh(const Seen& seen);
  void finish(Prediction& prediction) const;

  const Report& report_;
  const Catalogue& catalogue_;
  Scenario told_;             ///< with the looks in it, without words; its checks are the observations
  mutable Scenario scratch_;  ///< the same with changes
  mutable std::uint64_t events_predicted_ = 0;
  mutable bool start_changed_ = false;       ///< of scratch_
  std::vector<std::uint32_t> looks_before_;  ///< by step as told: how many looks come before it
  std::vector<Kept> kept_;
  std::vector<std::uint32_t> kept_for_;  ///< by step as told: the kept world before it
  std::size_t most_events_ = 0;
  Prediction as_told_;
  std::vector<sim::ByEnum<Match, double>> log_likelihoods_;  ///< by observation
};

}  // namespace drybus::model
