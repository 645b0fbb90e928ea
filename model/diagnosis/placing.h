// Goes through a report and puts every cause wherever it can be; its members stand by kind in place_causes.cpp (what people
// do), place_faults.cpp (what breaks, or was otherwise from the start) and place_calls.cpp (what only callers tell of).
#pragma once

#include <optional>
#include <set>
#include <vector>

#include "model/diagnosis/placed_cause.h"
#include "model/diagnosis/retelling.h"

namespace drybus::model {

/// A step with a finger on a button.
inline bool is_act(const Step& step) {
  return step.kind == StepKind::press || step.kind == StepKind::hold;
}

class Placing {
 public:
  Placing(const Retelling& retelling, const Catalogue& catalogue)
      : retelling_(retelling),
        report_(retelling.report()),
        believed_(report_.believed),
        site_(believed_.site),
        script_(believed_.people.front().script),
        catalogue_(catalogue),
        times_(timetable(site_, believed_.times, believed_.people.front())) {
    find_standing();
    find_positions();
  }

  std::vector<PlacedChange> all();
  std::vector<PlacedChange> of_rooms();
  std::vector<PlacedChange> of_calls();

 private:
  // --- what is known of the run as told ---

  /// Where the installer stands before each step.
  void find_standing();

  /// Steps before which something may break by itself. What breaks between two of them does the same as what
  /// breaks at the second: nothing is told apart but by an address that is given, a look, or somebody at the
  /// thing itself.
  void find_positions();
  [[nodiscard]] std::uint32_t last_step() const;

  [[nodiscard]] StepRef here() const { return {0, step_}; }
  [[nodiscard]] const Step& step() const { return script_[step_]; }
  [[nodiscard]] double chance(Mishap cause) const { return catalogue_.chance(cause); }
  [[nodiscard]] bool is_module(DeviceId device) const;
  [[nodiscard]] bool is_gesture(const Step& of) const;
  [[nodiscard]] bool is_assign(const Step& of) const;

  // --- adding ---

  PlacedChange& add(const PlacedCause& placed, double with_chance, Changes changes);

  /// What breaks by itself may do so before every step; of `moments` of these each stands for those around it, the
  /// beginning for nothing but itself.
  [[nodiscard]] double covers(const std::optional<std::uint32_t>& at, std::size_t moments) const;

  // --- how far a slip at a plate in setup can reach ---

  [[nodiscard]] bool is_slip_of_a_press(const PlacedCause& placed) const;

  [[nodiscard]] bool in_setup_before(DeviceId device, std::uint32_t index) const;

  /// What goes wrong in one setup of a plate is over, at the latest, with its next one: there the channel
  /// begins at 0 again. Not so when the plate is used in between, for it may still be in setup then.
  void limit_to_setup(PlacedChange& change) const;

  [[nodiscard]] PlacedCause placed_here(Mishap cause) const;

  /// Another step in place of the present one.
  [[nodiscard]] Changes instead(Step other) const;

  // --- slips ---

  void place_slips();

  void place_forgotten() { add(placed_here(Mishap::forgot), chance(Mishap::forgot), {change::Skip{here()}}); }

  void place_repeated();

  void place_early();

  void place_wrong_buttons();

  [[nodiscard]] double likeness(DeviceId a, DeviceId b) const;

  void place_wrong_modules();
  void place_both_at_once(DeviceId other, double share);

  [[nodiscard]] std::vector<DeviceId> our_modules() const;

  // --- telegrams lost and writes cut short ---

  void place_at_assign();

  void place_lost(DeviceId module, double with_chance);

  /// Whoever is looked at after a press may have missed its telegram.
  void place_lost_in_test();

  [[nodiscard]] bool nothing_sent_between(std::uint32_t from, std::uint32_t last) const;

  void place_write_lost(DeviceId module);

  [[nodiscard]] sim::Duration walk_before(std::uint32_t index) const;

  // --- how long things took ---

  /// Waits and ways may have been longer or shorter; what matters is on which side of a time-out they ended.
  void place_times();

  void place_interruptions();

  /// When setup or blips of anything end by themselves, as it stood when the step began.
  [[nodiscard]] std::set<sim::Instant> time_outs_pending() const;

  void add_time(Mishap cause, sim::Duration told, sim::Duration really, double spread, bool wait);

  // --- switches and memories ---

  void place_start_slips();

  /// Whether somebody has read what a plate is set to, and was from the start.
  [[nodiscard]] bool was_read(DeviceId plate) const;
  void add_switches(DeviceId plate, std::uint8_t number, std::uint8_t zone, double with_chance);

  void place_wrong_switches_in_step();

  void place_other_addresses(DeviceId module);

  /// Of some site that has nothing to do with this one.
  [[nodiscard]] Address foreign_address() const;

  void add_memory(DeviceId module, const Address& address, double with_chance);

  /// Of each other family that the report knows.
  void place_other_generations(DeviceId module);

  // --- things that break by themselves ---

  /// From the beginning, before each position, and before whatever is done at the device itself.
  [[nodiscard]] std::vector<std::optional<std::uint32_t>> moments(DeviceId device = no_device) const;

  /// The beginning and a few positions, for what is rare.
  [[nodiscard]] std::vector<std::optional<std::uint32_t>> few_moments() const;
  [[nodiscard]] std::vector<std::uint32_t> few_positions() const;
  [[nodiscard]] std::vector<std::uint32_t> few_waits() const;

  [[nodiscard]] static Changes before(std::optional<std::uint32_t> at, std::vector<Step> steps);

  void place_device_faults(DeviceId device);

  /// A breaker is off, or has tripped: the modules of a room have no power.
  void place_breaker(PlaceId place);

  void add_power_cut(DeviceId device, std::uint32_t position, double with_chance);

  /// From the beginning, or since it was first or last pressed.
  void place_stuck(DeviceId device);

  // --- links ---

  void place_link_faults();

  [[nodiscard]] bool is_device_module(sim::NodeId node) const;

  /// Modules that no longer hear some plate when the link is open.
  [[nodiscard]] std::vector<DeviceId> beyond_link(std::uint32_t link) const;

  void place_link_fault(std::uint32_t link, FaultKind kind, Mishap cause, std::uint32_t ppb,
                        std::size_t shares);

  // --- neighbours ---

  /// Somebody next door presses on or off just before something is seen.
  void place_neighbours();

  /// The site and zone that a neighbour's plate has, and those of ours which it may have.
  [[nodiscard]] std::vector<Address> numbers_of_ours(DeviceId neighbour) const;

  void place_neighbour_press(DeviceId plate, const Address& number, std::uint32_t look, std::size_t looks);

  void add_neighbour_press(DeviceId plate, const Address& number, Button button, std::uint32_t look,
                           double with_chance);

  // --- what callers tell of ---

  void place_exchanged();
  void place_forgotten_supply();
  void place_lost_offer();
  void place_lost_store();
  [[nodiscard]] bool is_load_seen_after(DeviceId module, std::uint32_t index) const;

  void place_was_in_setup(DeviceId device);
  /// What somebody does who stands before it; empty: there is no way.
  [[nodiscard]] std::vector<Step> way_into_setup(DeviceId device) const;
  [[nodiscard]] sim::Duration time_of(const std::vector<Step>& steps) const;
  [[nodiscard]] std::optional<std::uint32_t> first_act_at(DeviceId device) const;

  void place_other_hands(DeviceId device);
  /// Whose press before the step can make a difference that a press before the moment before that did not.
  [[nodiscard]] std::vector<Button> buttons_that_matter(DeviceId device, std::uint32_t moment,
                                                        const std::optional<std::uint32_t>& before) const;
  [[nodiscard]] bool is_look_of(const Seen& seen, std::uint32_t moment) const;
  [[nodiscard]] bool is_looked_at_just_after(DeviceId module, std::uint32_t moment) const;
  [[nodiscard]] bool is_any_load_looked_at(std::uint32_t moment) const;
  void add_other_hands(DeviceId device, Button button, std::uint32_t moment, double with_chance);

  void place_dead_load(DeviceId module);
  void place_other_power_up(DeviceId module);

  const Retelling& retelling_;
  const Report& report_;
  const Scenario& believed_;
  const Site& site_;
  const std::vector<Step>& script_;
  const Catalogue& catalogue_;
  Timetable times_;
  std::vector<PlaceId> standing_;
  std::vector<std::uint32_t> positions_;
  std::uint32_t step_ = 0;
  std::vector<PlacedChange> out_;
};

}  // namespace drybus::model
