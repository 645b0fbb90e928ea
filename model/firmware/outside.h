// A device that lies outside the simulation: a board on a line, or another program. What it did, and when, is data, like a
// person's script: so a session with it replays without it.
//
// What it remembers is its own affair. In World::firmware, after what another firmware keeps there, lies which of its steps
// comes next.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "model/people/script.h"
#include "model/site/device_logic.h"
#include "sim/record.h"

namespace drybus::model {

/// One thing that it did.
struct OutsideAct {
  enum class Kind : std::uint8_t { send, show, level, mode, stored };
  Kind kind = Kind::send;
  Telegram telegram{};                      ///< send
  Pattern pattern = Pattern::dark;          ///< show
  Level level = 0;                          ///< level: of its load,
  sim::Duration within{};                   ///< reached at an even pace within this time
  Mode mode = Mode::normal;                 ///< mode: it tells,
  ModeReason reason = ModeReason::gesture;  ///< and why
  Address address{};                        ///< stored: what its memory holds; channel 0: unaddressed
  PowerUp power_up = PowerUp::off;
  friend bool operator==(const OutsideAct&, const OutsideAct&) = default;
};

struct OutsideStep {
  sim::Instant at{};
  OutsideAct act;
  friend bool operator==(const OutsideStep&, const OutsideStep&) = default;
};

/// Why a device cannot do that ("a plate has no load"); empty when it can.
std::string why_not(const Site& site, DeviceId device, const OutsideAct& act);

class OutsideLogic final : public DeviceLogic {
 public:
  /// What reaches the device, as it happens; the time is the world's.
  using Listener = std::function<void(const Stimulus&)>;

  /// The others react as `others` says; null: as the reference model does. The times of steps do not fall.
  OutsideLogic(DeviceId device, std::vector<OutsideStep> steps, std::shared_ptr<DeviceLogic> others = nullptr)
      : device_(device), steps_(std::move(steps)), others_(std::move(others)) {}

  [[nodiscard]] DeviceId device() const { return device_; }
  [[nodiscard]] const std::vector<OutsideStep>& steps() const { return steps_; }
  [[nodiscard]] const std::shared_ptr<DeviceLogic>& others() const { return others_; }

  /// For a session under way: one more step, which `schedule_next` puts into the world.
  void add(const OutsideStep& step) { steps_.push_back(step); }
  void listen(Listener listener) { listener_ = std::move(listener); }

  /// Puts the next step's hour into the world's queue, as the device itself would have done at the entry `cause`: the last
  /// at which it came on or did something. REQUIRES: nothing of it is pending; the hour has not come.
  void schedule_next(World& world, sim::EntryId cause) const;

  void plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) override;
  void module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state, Effects& effects) override;
  void plate_lost_power(const DeviceTurn& turn, const PlateState& before, PlateState& left) override;
  void module_lost_power(const DeviceTurn& turn, const ModuleState& before, ModuleState& left) override;
  void prepare(const Site& site, World& world) override;
  [[nodiscard]] bool hears_damaged(bool plate) const override;
  [[nodiscard]] std::size_t bytes_per_device(bool plate) const override;

  /// The timer by which its steps come due.
  static constexpr Timer hour = Timer::debounce;

 private:
  void react_to(const DeviceTurn& turn, const Stimulus& stimulus, PlateState* plate, ModuleState* module,
                Effects& effects);
  void skip_what_is_over(World& world) const;
  void set_alarm(const World& world, Effects& effects) const;

  DeviceId device_;
  std::vector<OutsideStep> steps_;
  std::shared_ptr<DeviceLogic> others_;
  Listener listener_;
};

/// The outside device of a site; null when it has none.
std::shared_ptr<OutsideLogic> outside_of(const Site& site);

}  // namespace drybus::model
