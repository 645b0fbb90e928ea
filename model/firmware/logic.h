// Somebody's firmware in place of the reference model's reactions: from the C interface (model/firmware.h) to
// DeviceLogic.
//
// What a device remembers lies in World::firmware, a block for each device, plates first:
//
//     header (16 bytes: draws so far, the store in progress) | state | memory, which outlives a power cut | turns (turns.h)
//
// Beside it, PlateState and ModuleState mirror what the firmware tells of itself (mode, channel, address,
// power-up mode), so that facts, findings and views read the same places whatever runs on a device.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <span>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "model/firmware.h"
#include "model/firmware/turns.h"
#include "model/site/device_logic.h"
#include "model/site/ticking.h"
#include "model/world/world.h"

namespace drybus::model {

/// A firmware did what it must not. `what` names the device, the handler and the offence.
class FirmwareFault : public std::runtime_error {
 public:
  FirmwareFault(DeviceId device, const std::string& what) : std::runtime_error(what), device_(device) {}
  [[nodiscard]] DeviceId device() const { return device_; }

 private:
  DeviceId device_;
};

/// One call of a handler, ready to be made on any copy of the device's state.
struct FirmwareCall {
  enum class Handler : std::uint8_t { provision, reset, button, telegram, timer, power_lost, poll };

  const drybus_firmware* firmware = nullptr;
  Handler handler = Handler::reset;
  drybus_device* device = nullptr;
  const drybus_telegram* telegram = nullptr;
  const drybus_provision* provision = nullptr;
  std::uint32_t a = 0;  ///< button, timer
  std::uint32_t b = 0;  ///< closed
  DeviceId who = no_device;
  sim::Instant at{};

  /// Calls the handler. `state` is aligned to 16.
  void make(void* state) const;

  /// What the handler is handed beside its state, and may keep the address of: where it lies, and how long it is.
  struct Handed {
    const void* at = nullptr;
    std::size_t size = 0;
  };
  [[nodiscard]] std::array<Handed, 3> handed() const;
};

/// A line that the firmware of a device printed, within a handler.
void log_line(drybus_device& device, const char* text);

std::string_view to_string(FirmwareCall::Handler handler);

/// Makes calls.
class FirmwareCaller {
 public:
  /// Makes the call on `state` and leaves there what it made of it; `state` is aligned to 16. Returns what
  /// the firmware did wrong ("writes past the end of its block"), or nullptr. The text stays until this
  /// thread's next call.
  virtual const char* call(const FirmwareCall& call, std::span<std::byte> state) = 0;

  /// Makes the same call over and over, up to `most` times, for as long as the state grows by the counters each time and is as
  /// it was otherwise, and `goes_on`, asked after each, says so. Returns how many did so. What is in `state` afterwards
  /// means nothing.
  virtual std::uint64_t go_ahead(const FirmwareCall& call, std::span<std::byte> state,
                                 const TurnCounters& counters, std::uint64_t most,
                                 const std::function<bool()>& goes_on);

  /// For how many of the calls that would come one after another, `period` apart, the first of which is this one, it is proved
  /// that they do as the first ones do: the state grows by the counters, if the host answers as it does to these but for its clocks.
  /// `goes_on` is asked after each that is made, and says no where one asked for something. 0: that is not known. What is in
  /// `state` afterwards means nothing.
  virtual std::uint64_t foresee(const FirmwareCall& /*call*/, std::span<std::byte> /*state*/,
                                const TurnCounters& /*counters*/, sim::Duration /*period*/,
                                const std::function<bool()>& /*goes_on*/) {
    return 0;
  }

 protected:
  ~FirmwareCaller() = default;
};

/// As they are. Only for firmware that is known to be well-behaved: tools/firmware has one with guards around
/// each call.
class UnguardedCaller final : public FirmwareCaller {
 public:
  const char* call(const FirmwareCall& call, std::span<std::byte> state) override {
    call.make(state.data());
    return nullptr;
  }
};

/// The firmware of one kind of device, and how it is called.
struct FirmwareSeat {
  const drybus_firmware* firmware = nullptr;
  std::shared_ptr<FirmwareCaller> caller;
  std::size_t state_size = 0;            ///< firmware->state_size, or the size of the library's own variables
  std::vector<std::byte> at_power_on{};  ///< the state when power comes on; empty: all 0
};

/// How firmware is run.
struct FirmwareManner {
  sim::Duration age{};      ///< of all devices when the run begins: what their clocks say
  bool every_turn = false;  ///< turns of main loops are all gone through: for proof, and slow
};

class FirmwareLogic final : public DeviceLogic, public Ticking {
 public:
  /// For a site's devices. A kind without a seat reacts as the reference model does.
  FirmwareLogic(const Site& site, std::optional<FirmwareSeat> plate, std::optional<FirmwareSeat> module,
                const FirmwareManner& manner = {});

  void plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) override;
  void module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
              Effects& effects) override;
  void plate_lost_power(const DeviceTurn& turn, const PlateState& before, PlateState& left) override;
  void module_lost_power(const DeviceTurn& turn, const ModuleState& before, ModuleState& left) override;
  void prepare(const Site& site, World& world) override;
  [[nodiscard]] bool hears_damaged(bool plate) const override;
  [[nodiscard]] std::size_t bytes_per_device(bool plate) const override { return kind(plate).stride; }

  [[nodiscard]] bool ticks(const Site& site, DeviceId device) const override {
    return kind(site.is_plate(device)).has_turns();
  }
  void look_again(const DeviceTurn& turn, Effects& effects) override;
  void settle(const Site& site, World& world) const override;
  void make_key(const Site& site, const World& world, DeviceId device,
                std::span<std::uint64_t> block) const override;
  [[nodiscard]] std::optional<sim::Instant> next_change(const Site& site, const World& world,
                                                        DeviceId device) const override;

 private:
  /// The devices of one kind, whose blocks lie one after another.
  struct Kind {
    std::optional<FirmwareSeat> seat;
    std::size_t first = 0;      ///< device
    std::size_t begin = 0;      ///< of its block
    std::size_t memory_at = 0;  ///< from the beginning of a block
    std::size_t turns_at = 0;   ///< likewise; where it has a main loop
    std::size_t stride = 0;     ///< from block to block
    sim::Duration period{};     ///< of its main loop

    [[nodiscard]] bool has_turns() const { return period > sim::Duration::zero(); }
    [[nodiscard]] std::span<std::byte> state_in(std::byte* block) const;
    [[nodiscard]] TurnState& turns_in(std::byte* block) const;
    [[nodiscard]] std::byte* block_in(World& world, DeviceId device) const {
      return world.firmware.data() + begin + (device - first) * stride;
    }
  };
  class Before;

  static Kind kind_of(std::optional<FirmwareSeat> seat, std::size_t first, std::size_t begin);
  [[nodiscard]] const Kind& kind(bool plate) const { return plate ? plate_ : module_; }
  void prepare(const Kind& kind, const DeviceTurn& turn) const;
  void provision(const Kind& kind, const DeviceTurn& turn) const;
  static void clear_state(const Kind& kind, const DeviceTurn& turn);
  void react_to(const Kind& kind, const Stimulus& stimulus, drybus_device& device) const;
  void take_turn(const Kind& kind, drybus_device& device) const;
  [[nodiscard]] std::optional<sim::Instant> foreseen(const Kind& kind, drybus_device& device,
                                                     const FirmwareCall& asked, const Before& before,
                                                     const TurnCounters& until_now) const;
  static sim::Instant go_ahead(const Kind& kind, drybus_device& device, const FirmwareCall& asked,
                               const TurnWatch& watch);
  static std::uint64_t quiet_ahead(const Kind& kind, drybus_device& device, const FirmwareCall& asked,
                                   const TurnWatch& watch, std::uint64_t most);
  static std::uint64_t foresee(const Kind& kind, drybus_device& device, const FirmwareCall& asked);
  void begin_turns(const Kind& kind, const DeviceTurn& turn) const;
  /// Counts the turns that were left out, as something reaches the device.
  static void catch_up(const Kind& kind, const DeviceTurn& turn);
  static void lose_power(const Kind& kind, drybus_device& device);
  static void call(const Kind& kind, drybus_device& device, FirmwareCall& asked);
  [[nodiscard]] drybus_device device_of(const Kind& kind, const DeviceTurn& turn, const Stimulus& stimulus,
                                        Effects& effects) const;

  drybus_numbers numbers_;
  FirmwareManner manner_;
  Kind plate_;
  Kind module_;
};

}  // namespace drybus::model
