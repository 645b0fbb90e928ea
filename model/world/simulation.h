// Drives a world: takes the next event, lets the device react, carries out the effects, keeps the record.
//
// Everything that changes is in the World; a Simulation only borrows it, so that a fork is a copy of the world.
#pragma once

#include <functional>
#include <utility>
#include <vector>

#include "model/people/script.h"
#include "model/record/trace.h"
#include "model/site/device_logic.h"
#include "model/world/world.h"
#include "sim/record.h"

namespace drybus::model {

/// A world at its start: every device powered, as the scenario says, and every person at their first step.
World initial_world(const Scenario& scenario);
World initial_world(const Scenario& scenario, std::uint64_t seed);

/// Told of checks as they come due in a script, with the entry made of the step; answers whether it passed.
using CheckHandler = std::function<bool(std::uint32_t check, sim::EntryId step)>;

class Simulation final : private sim::MediumHost {
 public:
  /// `record` may be null: nothing is kept, and nothing is spent on it. All three must outlive the simulation.
  Simulation(const Scenario& scenario, World& world, sim::Record* record = nullptr);

  /// Notes the beginning and powers every device up, as its power-up mode says. Once, on an initial world.
  void begin();

  /// Goes on by one event, and says which. REQUIRES: one is pending.
  sim::Event step();

  /// Goes on until no event at or before `until` is left; then the clock stands at `until`.
  void run_until(sim::Instant until);

  [[nodiscard]] sim::Instant next_at() const { return world_.queue.next_at(); }

  /// True when everybody's script is at its end.
  [[nodiscard]] bool scripts_done() const;

  void on_check(CheckHandler handler) { check_ = std::move(handler); }

  /// Has devices react in another way than the site says; null: as the reference model does. It must outlive the
  /// simulation, and be the one for which the world was prepared if it keeps anything there.
  void use_logic(DeviceLogic* logic) { logic_ = logic; }

  // What people and faults do to the world; each names the entry that led to it.

  /// A button goes down under somebody's finger, or a finger leaves it. A contact stays closed for as long as anybody else
  /// has a finger on it, or it is stuck. REQUIRES: whoever's finger it is counts as holding it.
  void set_contact(DeviceId device, Button button, bool closed, sim::EntryId cause);
  void set_stuck(DeviceId device, Button button, bool stuck, sim::EntryId cause);
  void set_power(DeviceId device, bool on, sim::EntryId cause);
  void set_switches(DeviceId plate, std::uint8_t site, std::uint8_t zone, sim::EntryId cause);
  void set_link(std::uint32_t link, sim::LinkState state, std::uint32_t bit_error_ppb, sim::EntryId cause);
  void deafen(DeviceId device, std::uint16_t telegrams, sim::EntryId cause);
  /// A module's load gives no light from now on; or it was replaced, and shows what the module does.
  void set_load_dead(DeviceId module, bool dead, sim::EntryId cause);
  /// The device hears a telegram all the same, whatever became of it on the medium.
  void hear(DeviceId receiver, DeviceId sender, const Telegram& telegram, sim::EntryId cause);

  sim::EntryId note(What what, std::uint32_t who, std::uint32_t a = 0, std::uint64_t b = 0,
                    sim::EntryId cause = sim::no_entry, sim::EntryId because = sim::no_entry) {
    noted_ |= std::uint64_t{1} << static_cast<unsigned>(what);
    if (record_ == nullptr) return sim::no_entry;
    return record_->add({world_.now, cause, because, static_cast<std::uint16_t>(what), who, a, b});
  }

  /// What was noted since the last call, recorded or not: a bit for each What.
  [[nodiscard]] std::uint64_t take_noted() { return std::exchange(noted_, 0); }

  void schedule(sim::Duration after, Happening happening, std::uint32_t who, std::uint16_t arg,
                sim::EntryId cause) {
    world_.queue.push(world_.now + after, {static_cast<std::uint16_t>(happening), arg, who, cause});
  }

  [[nodiscard]] const Scenario& scenario() const { return scenario_; }
  [[nodiscard]] const Site& site() const { return scenario_.site; }
  [[nodiscard]] World& world() { return world_; }
  [[nodiscard]] const World& world() const { return world_; }
  [[nodiscard]] sim::Record* record() { return record_; }
  /// The entry that last changed the device's mode; no_entry while nobody records or it never changed.
  [[nodiscard]] sim::EntryId mode_entry(DeviceId device) const {
    return record_ == nullptr ? sim::no_entry : mode_entries_[device];
  }
  [[nodiscard]] bool run_check(std::uint32_t check, sim::EntryId step) {
    return !check_ || check_(check, step);
  }

 private:
  sim::EntryId medium_note(sim::MediumNote note, sim::NodeId node, sim::NodeId sender, std::uint32_t detail,
                           const sim::Frame& frame, sim::EntryId cause) override;
  void medium_deliver(sim::NodeId receiver, sim::NodeId sender, const sim::Frame& frame,
                      sim::EntryId cause) override;
  void medium_damaged(sim::NodeId receiver, sim::NodeId sender, const sim::Frame& heard,
                      sim::EntryId lost) override;

  void dispatch(const sim::Event& event);
  void react_to(DeviceId device, Stimulus stimulus, sim::EntryId cause);
  void carry_out(DeviceId device, const Effect& effect, sim::EntryId cause);
  void tell(DeviceId device, const Effect& effect, sim::EntryId cause);
  void tell_mode(DeviceId device, Mode mode, ModeReason reason, sim::EntryId cause);
  void tell_stored(DeviceId device, sim::EntryId cause);
  void start_timer(DeviceId device, Timer timer, sim::Duration duration, sim::EntryId cause);
  void stop_timer(DeviceId device, Timer timer);
  void show(DeviceId device, Pattern pattern, sim::EntryId cause);
  void settle(DeviceId device, Buttons buttons, sim::Duration duration, sim::EntryId cause);
  void settled(DeviceId device, Buttons buttons, sim::EntryId cause);
  void forget_settling(DeviceId device);
  [[nodiscard]] sim::Duration by_its_clock(DeviceId device, sim::Duration duration) const;
  void fade(DeviceId device, Level level, sim::Duration duration, sim::EntryId cause);
  void flash(DeviceId device, Level level, sim::EntryId cause);
  sim::EntryId note_level(DeviceId device, Level from, Level to, sim::Duration duration, sim::EntryId cause);
  void begin_rest_of_fade(LoadState& load);
  void end_flash(DeviceId device, sim::EntryId cause);
  void arrive(DeviceId device, sim::EntryId cause);
  void lose_power(DeviceId device, sim::EntryId cause);
  void lose_plate_state(DeviceId device);
  void lose_module_state(DeviceId device, sim::EntryId cause);
  [[nodiscard]] Level level_now(DeviceId device) const;
  [[nodiscard]] LoadState& load(DeviceId device) { return world_.loads[site().module_index(device)]; }
  /// How many people have a finger on that button.
  [[nodiscard]] int fingers_on(DeviceId device, Button button) const;
  void move_contact(DeviceId device, Button button, bool closed, sim::EntryId cause);
  [[nodiscard]] DeviceTurn turn_of(DeviceId device) { return {site(), world_, device}; }
  [[nodiscard]] sim::MediumContext medium_context() {
    return {site().network, world_.queue, world_.now, world_.seed, *this};
  }

  const Scenario& scenario_;
  World& world_;
  sim::Record* record_;
  CheckHandler check_;
  DeviceLogic* logic_;
  std::uint64_t noted_ = 0;
  std::vector<sim::EntryId> mode_entries_;   ///< kept only beside a record
  std::vector<Address> recorded_addresses_;  ///< likewise
  sim::Frame decoded_frame_;  ///< the last one: a telegram mostly reaches many, and is decoded once
  std::optional<Telegram> decoded_;
};

}  // namespace drybus::model
