// The hypotheses of a report, for sim::explore: sets of placed causes, judged by forking the run as told.
#pragma once

#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "model/diagnosis/placed_cause.h"
#include "model/diagnosis/retelling.h"
#include "sim/hypotheses.h"

namespace drybus::model {

class CauseSpace final : public sim::HypothesisSpace {
 public:
  CauseSpace(const Retelling& retelling, const Catalogue& catalogue);

  [[nodiscard]] std::size_t part_count() const override { return parts_.size(); }
  [[nodiscard]] double log_odds(sim::PartId part) const override { return log_odds_[part]; }
  [[nodiscard]] double log_fit(const sim::PartSet& set, double least) override;
  void extensions(const sim::PartSet& set, double log_fit, std::vector<sim::Extension>& into) override;
  /// Events of all runs.
  [[nodiscard]] std::uint64_t work() const override { return retelling_.events_predicted(); }

  /// The share of all that may have gone wrong whose very moment is among the parts: some stand for many moments.
  [[nodiscard]] double covered() const;

  [[nodiscard]] const PlacedChange& part(sim::PartId part) const { return parts_[part]; }

  /// The changes of all parts together.
  [[nodiscard]] Changes changes_of(const sim::PartSet& set) const;

  /// What each set predicts that was tried and is of interest; complete for all observations.
  [[nodiscard]] const std::map<sim::PartSet, Prediction>& tried() const { return tried_; }

 private:
  /// Observations by index, one bit each.
  using SeenSet = std::vector<std::uint64_t>;

  /// What became of a part when it was tried by itself.
  struct Alone {
    bool tried = false;
    bool whole = false;  ///< it is known of every observation
    /// Observations that come out otherwise than as told, as far as was followed.
    std::vector<std::pair<std::uint32_t, Match>> changed;
  };

  void add_traffic(const PlacedChange& part, SeenSet& set) const;
  void forget_before(std::uint32_t step, SeenSet& set) const;
  [[nodiscard]] SeenSet contradicted(const Prediction& prediction) const;
  [[nodiscard]] double worth(const SeenSet& wrong, const SeenSet& within, const Prediction& prediction) const;
  [[nodiscard]] std::optional<Prediction> prediction_of(const sim::PartSet& set) const;
  [[nodiscard]] double expected_gain(sim::PartId part, const Prediction& before, const SeenSet& wrong,
                                     const SeenSet& meeting) const;
  [[nodiscard]] SeenSet touched_by_both(const sim::PartSet& set, sim::PartId added) const;
  [[nodiscard]] bool go_together(const sim::PartSet& set, sim::PartId part) const;
  [[nodiscard]] bool touches_many(sim::PartId part) const;
  [[nodiscard]] Followed sample_of(const sim::PartSet& set) const;
  [[nodiscard]] std::optional<Prediction> from_its_parts(const sim::PartSet& set) const;
  [[nodiscard]] Prediction merged(Prediction partial, bool hopeful) const;
  [[nodiscard]] double best_of_smaller(const sim::PartSet& set) const;
  void note_alone(const sim::PartSet& set, const Prediction& prediction);

  const Retelling& retelling_;
  const Catalogue& catalogue_;
  std::vector<PlacedChange> parts_;
  std::vector<double> log_odds_;
  std::vector<SeenSet> touches_;  ///< by part: observations that it can change
  std::vector<Alone> alone_;      ///< by part
  std::size_t words_;             ///< of a SeenSet
  Followed observed_;
  std::vector<std::size_t>
      puzzling_;                ///< modules with observations that contradict what was told, a few of them
  bool nothing_wrong_ = false;  ///< what was told explains everything
  std::map<sim::PartSet, Prediction> tried_;
};

}  // namespace drybus::model
