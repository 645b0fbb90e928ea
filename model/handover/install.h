// The work that a site is handed over after: as it was planned, and with everything in it that can have gone wrong.
//
// Every slip and fault of the catalogue is put wherever it can be in the work, and run to the end; then everybody's setup
// has timed out, and the supply has been off and on again. What is left is what a round through the site can find.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "model/diagnosis/placed_cause.h"
#include "model/diagnosis/retelling.h"
#include "model/planning/route.h"
#include "model/planning/wishes.h"
#include "model/world/world.h"

namespace drybus::model {

/// Between switching the supply off and on again.
inline constexpr sim::Duration off_for = std::chrono::seconds{10};
/// Until devices have started.
inline constexpr sim::Duration start_takes = std::chrono::seconds{3};

struct Install {
  Report report;  ///< what is believed: the work, the time-outs, and the power cut where there is one
  std::uint32_t work = 0;  ///< steps of the work itself
  bool power_cut = false;  ///< whether the supply is off once after it
};

/// The work as the route has it, for one person who sees nothing that would stop them. With `power_cut`, the supply of
/// everything goes off and on in the end.
Install install_of(const RouteProblem& problem, bool power_cut);

/// A way in which things can stand after the work.
struct Outcome {
  World world;
  double chance = 0;                  ///< of all that lead to it, added up
  std::vector<std::uint32_t> causes;  ///< indices into Outcomes::causes, the likeliest first
};

struct Outcomes {
  std::vector<PlacedChange> causes;
  World right;                 ///< nothing went wrong
  std::vector<Outcome> wrong;  ///< differ from it, and from one another, in what lasts
  std::size_t harmless = 0;    ///< causes that leave everything as it should be
  std::size_t skipped = 0;     ///< causes beyond the bound on runs
};

/// Goes through the work once, and from there to where each slip leads.
class Aftermath {
 public:
  /// Both must outlive this. Throws std::length_error when the work is too long to be gone through.
  Aftermath(const Install& install, const Catalogue& catalogue);

  /// At most `most_runs` causes are run, the likeliest first.
  [[nodiscard]] Outcomes outcomes(std::size_t most_runs) const;

  /// The world that several causes together leave.
  [[nodiscard]] World end_of(const std::vector<const PlacedChange*>& causes) const;

 private:
  const Install& install_;
  const Catalogue& catalogue_;
  Retelling retelling_;
};

/// Whether two worlds are alike in all that lasts: addresses, scenes, switches, power, links, what is stuck.
bool alike(const Site& site, const World& a, const World& b);

}  // namespace drybus::model
