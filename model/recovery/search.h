// What is known of a site while a cure is under way, and the search for the quickest one.
//
// A situation says of every device whether it is in normal mode, in setup, or either of the two; an action
// has the same effect whichever is true, or else the situation says so. Times are exact: presses, holds,
// walks and time-outs are those of the installer and the family, so that a plan made here lasts as long when
// it is run.
#pragma once

#include <optional>
#include <span>
#include <vector>

#include "model/recovery/aim.h"

namespace drybus::model {

enum class Standing : std::uint8_t { normal, setup, either };

/// What is known of one device. Times count from the beginning of the cure.
struct Belief {
  sim::Duration lasts_until{};  ///< in setup at least until then
  sim::Duration over_at{};      ///< and by then it has ended by itself
  Standing standing = Standing::normal;
  std::uint8_t channel = 0;  ///< of a plate in setup
  std::uint8_t held = 1;     ///< a module holds what it shall
  std::uint8_t setting = 0;  ///< of a plate: 0 as found, 1 as aimed, 2 another site number for the while
  std::uint16_t lit = 0;  ///< whether a module comes up at full: `not_lit`, `lit_as_found`, or with this site
  std::uint8_t deaf = 0;  ///< it may miss the next telegrams
  std::uint8_t put_in_setup = 0;  ///< by this cure, and maybe still in it
  std::uint8_t offered = 0;       ///< a module in setup keeps its own address until a press confirms it
};
inline constexpr std::uint16_t not_lit = 0xffff;
inline constexpr std::uint16_t lit_as_found = 0xfffe;

struct Situation {
  sim::Duration now{};
  PlaceId place = 0;
  bool isolated = false;     ///< the supply is off, locked and proved dead: covers may come off
  bool setup_begun = false;  ///< something has been put in setup
  std::vector<Belief> devices;
};

struct CureAction {
  enum class Kind : std::uint8_t {
    hold,   ///< the device's gesture
    press,  ///< a module's button, or a plate's `leave`: back to normal mode, whichever it was in
    next,
    previous,
    assign,     ///< `times` times
    isolate,    ///< the supply of everything of ours: every setup ends with that
    set_aim,    ///< a plate's switches, with the supply isolated
    set_other,  ///< another site number, so that a module that takes it comes up dark from then on
    restore,    ///< the supply
    wait,       ///< `duration`
  };
  Kind kind = Kind::wait;
  DeviceId device = no_device;
  std::uint8_t times = 1;
  sim::Duration duration{};
};

/// The rules: what actions there are, and what they do.
///
/// Switches are changed with the cover off, and covers come off with the supply isolated. That ends every
/// setup, so it is done before anything is put in setup; only where a module has to take two site numbers one
/// after the other is it done again, when nothing that the cure put in setup can still be in it.
/// `assign` is pressed only when it is known who is in setup, and that it is for them.
class CureRules {
 public:
  /// `isolated`: the supply is off when the plan begins.
  CureRules(const Scenario& asked, const Aim& aim, std::vector<Outlook> outlooks,
            const RecoverOptions& options, bool isolated = false);

  [[nodiscard]] Situation beginning(PlaceId place) const;
  [[nodiscard]] bool is_over(const Situation& situation) const;
  /// Does the action, with the walk before it; false when it makes no sense there, and then `situation` is
  /// spoilt.
  bool act(Situation& situation, const CureAction& action) const;
  /// Actions that may be of use now.
  void add_useful(const Situation& situation, std::vector<CureAction>& actions) const;
  /// No sequence that ends well takes less than this from here.
  [[nodiscard]] sim::Duration at_least(const Situation& situation) const;
  /// What somebody does for the action, as many times as it says.
  void add_steps(const CureAction& action, std::vector<Step>& steps) const;

  [[nodiscard]] const Site& site() const { return asked_.site; }
  [[nodiscard]] const HumanTimes& times() const { return asked_.times; }
  [[nodiscard]] const Aim& aim() const { return aim_; }
  [[nodiscard]] sim::Duration tap() const { return asked_.times.press + asked_.times.pause; }
  [[nodiscard]] bool own(DeviceId device) const { return !site().is_neighbour(device); }
  /// A module that still has to take an address, its own or first another.
  [[nodiscard]] bool wants_address(const Situation& situation, DeviceId module) const;
  /// It comes up at full, and taking its own address would not change that.
  [[nodiscard]] bool wants_other_site(const Situation& situation, DeviceId module) const;
  /// Plates that can give the module its address, the nearest first.
  [[nodiscard]] const std::vector<DeviceId>& plates_of(DeviceId module) const {
    return plates_of_[site().module_index(module)];
  }
  [[nodiscard]] std::uint8_t channel_of(DeviceId module) const {
    return aim_.addresses[site().module_index(module)]->channel;
  }
  /// Modules that come up at full in some world.
  [[nodiscard]] std::vector<DeviceId> lit() const;
  /// How often `assign` has to be pressed so that whoever listens to the plate hears it, deaf for a while or
  /// not.
  [[nodiscard]] std::uint8_t offers_needed(const Situation& situation, DeviceId plate) const;
  /// Until the first of the setups that may be in progress is over; nothing when there is none.
  [[nodiscard]] std::optional<sim::Duration> wait_for_time_out(const Situation& situation) const;

 private:
  [[nodiscard]] std::optional<PlateSetting> setting(const Situation& situation, DeviceId plate) const;
  void be_wary(Situation& situation) const;
  void pass(Situation& situation, sim::Duration until) const;
  void walk(Situation& situation, DeviceId device) const;
  void enter(Situation& situation, DeviceId device) const;
  bool isolate(Situation& situation) const;
  bool restore(Situation& situation) const;
  [[nodiscard]] bool is_for(const Situation& situation, std::size_t module, const Address& offered) const;
  /// How long the way into setup takes, up to the moment that it is there.
  [[nodiscard]] sim::Duration way_takes(DeviceId device) const;
  /// A module that asks is answered at once by the plate in setup: with the plate's next channel.
  bool be_answered(Situation& situation, DeviceId module) const;
  [[nodiscard]] bool others_listen_to(const Situation& situation, DeviceId plate, std::size_t but) const;
  [[nodiscard]] bool asks(DeviceId module) const {
    return site().module_family(module).ask > sim::Duration::zero();
  }
  /// Where a plate has to stand for a module to get its channel.
  [[nodiscard]] std::uint8_t stand_for(DeviceId module) const {
    return static_cast<std::uint8_t>(channel_of(module) - (asks(module) ? 1 : 0));
  }
  [[nodiscard]] bool darkens(const Situation& situation, DeviceId plate) const;
  [[nodiscard]] bool may_restore(const Situation& situation) const;
  [[nodiscard]] bool has_darker_number(const Situation& situation, std::size_t module) const;
  [[nodiscard]] sim::Duration cover_work_at_least(const Situation& situation) const;
  void add_useful_isolated(const Situation& situation, std::vector<CureAction>& actions) const;
  [[nodiscard]] Step step_of(const CureAction& action) const;
  bool tap_in_setup(Situation& situation, DeviceId plate, CureAction::Kind kind) const;
  bool offer(Situation& situation, DeviceId plate, std::uint8_t times) const;
  void take(Belief& module, std::size_t index, const Address& offered) const;
  void add_useful_on_plate(const Situation& situation, DeviceId plate,
                           std::vector<CureAction>& actions) const;
  void add_useful_in_setup(const Situation& situation, DeviceId plate,
                           std::vector<CureAction>& actions) const;
  [[nodiscard]] sim::Duration lasting(sim::Duration time_out) const {
    return time_out * (100 - std::min(options_.reserve_percent, 90u)) / 100;
  }

  const Scenario& asked_;
  const Aim& aim_;
  std::vector<Outlook> outlooks_;
  RecoverOptions options_;
  bool isolated_ = false;
  bool two_numbers_ = false;  ///< some module has to take another site number before its own
  sim::Medium reach_;
  std::vector<std::vector<DeviceId>> plates_of_;  ///< by module
  std::vector<std::vector<std::uint8_t>> hears_;  ///< by plate, by module
  std::uint8_t other_site_ = 0;                   ///< 0: there is none to spare
};

struct CurePlan {
  std::vector<CureAction> actions;
  sim::Duration time{};
  bool shortest = false;
};

/// A* over situations; nothing when the effort did not suffice.
std::optional<CurePlan> search_cure(const CureRules& rules, PlaceId place, std::size_t effort);

/// A good one for sites of any size: setups that could take what is not theirs are left first, then the
/// modules are visited in the order of model/route.h. Nothing when that does not end well.
std::optional<CurePlan> tour_cure(const CureRules& rules, PlaceId place, const RecoverOptions& options);

}  // namespace drybus::model
