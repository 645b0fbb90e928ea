// The shortest round of presses and looks that proves a site right: which tests it needs, in which order, and what it
// cannot tell.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <vector>

#include "model/handover/cover.h"
#include "model/handover/install.h"
#include "model/handover/trial.h"
#include "model/planning/plan.h"

namespace drybus::model {

/// A test that is complete in itself: it begins with everything dark, and ends so.
struct RoundTest {
  enum class Kind : std::uint8_t {
    dark,      ///< a look round a place before anything is pressed there
    channels,  ///< a plate is stepped through its channels, while somebody looks on in a place
    key        ///< a key of a plate is pressed, and a place is looked at
  };
  Kind kind = Kind::dark;
  DeviceId plate = no_device;
  Button button = no_button;
  PlaceId place = 0;  ///< where it is looked at
  friend auto operator<=>(const RoundTest&, const RoundTest&) = default;
};

/// A site as it is to be handed over: everything holds its address.
struct BuiltSite {
  Site site;  ///< addresses intended and stored
  std::optional<PlaceId> start;
  bool is_part =
      false;  ///< of a larger site, of which the rest is not here: no key for other zones is pressed

  /// Whether the supply of everything may be off for a moment.
  [[nodiscard]] bool may_lose_power() const;
  /// Modules that a plate addresses.
  [[nodiscard]] std::vector<DeviceId> zone_of(DeviceId plate) const;
  /// Whether nobody forbids that this plate's keys are pressed.
  [[nodiscard]] bool may_press(DeviceId plate) const;
  /// Modules whom a short press of a key is for, in whichever zone.
  [[nodiscard]] std::vector<DeviceId> reached_by(DeviceId plate, Button key) const;
  /// The same as for the plate's own zone, of one key.
  [[nodiscard]] bool may_press(DeviceId plate, Button key) const;
  /// The first plate that puts the module's own zone on and off, and may; no_device where there is none.
  [[nodiscard]] DeviceId zone_plate(DeviceId module) const;
};

/// Keys whose short press shows something in other zones than the plate's own.
std::vector<Button> far_keys(const PlateFamily& family);

/// The site of a plan, built. REQUIRES: the plan has no clash.
BuiltSite built(const Plan& plan);

/// Every test that the site allows, the cheaper places first.
std::vector<RoundTest> all_tests(const BuiltSite& built);

/// A test by itself, in a world where everything is dark.
std::vector<RoundAct> acts_of(const BuiltSite& built, const RoundTest& test);

/// Tests in the order of a round, without doing anything twice that need not be.
std::vector<RoundAct> round_of(const BuiltSite& built, const std::vector<RoundTest>& tests);

/// The round as a scenario of the built site that replays, with what should be seen; `began` is how things stand then.
/// Throws std::logic_error when the right world does not go through it.
struct RoundScript {
  std::vector<RoundAct> acts;
  Trial trial;
  sim::Duration takes{};
};
RoundScript round_script(const BuiltSite& built, std::vector<RoundAct> acts);

/// How long it takes to press everything and look everywhere each time, before the power cut and after it.
sim::Duration everything_takes(const BuiltSite& built);

// --- what a round tells apart ---

struct SlipBounds {
  std::size_t most_runs = 20'000;    ///< slips that are run
  std::size_t most_doubles = 1'000;  ///< pairs of slips that are run
};

/// A slip or fault that leaves something wrong which the round does not show.
struct Untold {
  std::string text;
  double chance = 0;
  std::size_t causes = 0;  ///< that lead to the same
};

struct RoundChoice {
  std::vector<RoundTest> tests;
  bool proved = false;  ///< no cheaper set of tests tells as much
  std::size_t tests_possible = 0;
  std::size_t causes = 0;      ///< slips and faults that were run
  std::size_t skipped = 0;     ///< and that were not, beyond the bound
  std::size_t harmless = 0;    ///< leave everything as it should be
  std::size_t outcomes = 0;    ///< ways in which things are wrong then
  std::size_t told = 0;        ///< of those, told from the right by the round
  std::vector<Untold> untold;  ///< told by no test at all, the likeliest first
  std::size_t doubles = 0;     ///< pairs that leave something wrong
  std::size_t doubles_told = 0;
  std::size_t doubles_possible = 0;  ///< pairs there are
  std::vector<Untold> doubles_untold;
  std::vector<DeviceId> keys_unpressed;                    ///< plates with keys that nobody may press
  std::vector<std::pair<DeviceId, Button>> far_unpressed;  ///< keys for other zones that are not tried
};

/// For the part of the site that `problem` installs. REQUIRES: `built` is the same site, built.
RoundChoice choose_round(const BuiltSite& built, const RouteProblem& problem, const Catalogue& catalogue,
                         const SlipBounds& bounds);

}  // namespace drybus::model
