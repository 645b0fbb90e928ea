// What would have been: a run that can be taken up again anywhere, changed there, and asked the same question.
//
// The run is gone through once and copies of it are kept. A change forks the last copy before the first moment at which
// it can make a difference; what lies before is never run again.
#pragma once

#include <optional>
#include <span>
#include <string>
#include <vector>

#include "model/findings/findings.h"
#include "model/people/change.h"
#include "model/run/driver.h"
#include "model/world/simulation.h"

namespace drybus::model {

/// A run at one moment, with its history. A plain value.
struct Course {
  World world;
  sim::Record record;
  FindingWatch watch;
};

/// What is asked of a run: a fact of a device at a moment, or whether there is a finding.
struct WhyQuestion {
  DeviceId device = no_device;
  Fact fact = Fact::address;
  std::optional<sim::Instant> at;    ///< nothing: when everybody's script is at its end
  std::optional<FindingId> finding;  ///< then `device` is whom it is about, and these say when it was open:
  sim::Instant from{};
  std::optional<sim::Instant> until;  ///< nothing: it still is
  std::vector<DeviceId> among;  ///< where several make one finding together: all of them; any two would do
};

/// Whether an observation is of the finding that is asked about, whenever it was.
bool is_asked_about(const WhyQuestion& question, const Observation& seen);
/// Who of them makes it one finding together, so that another is whom it is about when one is left out.
bool is_made_together(FindingId id);

/// Findings that begin this little before or after are the same one: the bus takes and leaves a few turns.
inline constexpr sim::Duration finding_slack = std::chrono::milliseconds{250};

class Counterfactual {
 public:
  /// Runs the scenario. It must outlive this. `seed`: instead of the scenario's.
  explicit Counterfactual(const Scenario& scenario, std::optional<std::uint64_t> seed = {},
                          const Budget& budget = {});

  [[nodiscard]] const Scenario& scenario() const { return scenario_; }
  /// The run as it was, at its end.
  [[nodiscard]] const Course& actual() const { return actual_; }
  [[nodiscard]] bool unfinished() const { return unfinished_; }

  /// The run with changes, up to the question's moment. Findings are watched for only if it asks for one.
  [[nodiscard]] Course run(std::span<const Change> changes, const WhyQuestion& question) const;

  /// The answer in a run with changes: for facts the value, in the words of the output; for findings "yes" or "no".
  [[nodiscard]] std::string answer(std::span<const Change> changes, const WhyQuestion& question) const;

  /// How many runs and forks have been made so far.
  [[nodiscard]] std::size_t runs() const { return runs_; }

 private:
  struct Kept {
    World world;
    FindingWatch watch;
    std::size_t entries = 0;  ///< of the actual record
  };

  [[nodiscard]] Course fork(const Altered& altered, std::span<const Change> changes, sim::Instant moment,
                            bool watched) const;
  [[nodiscard]] const Kept* last_before(std::span<const Change> changes, sim::Instant moment) const;
  void keep(const Course& course);

  const Scenario& scenario_;
  std::uint64_t seed_;
  Budget budget_;
  Course actual_;
  std::vector<Kept> kept_;
  std::size_t spacing_ = 1;  ///< one in so many chances to keep a copy is taken
  std::size_t chances_ = 0;
  bool unfinished_ = false;
  mutable std::size_t runs_ = 1;  ///< what happened is one
};

/// The answer of a course that has come to the question's moment.
std::string answer_of(const Scenario& scenario, const Course& course, const WhyQuestion& question,
                      const Altered* altered);

}  // namespace drybus::model
