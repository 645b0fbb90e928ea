// A run as a value-change dump, for waveform viewers: what every device and the bus were doing at every
// moment.
#pragma once

#include <array>
#include <set>
#include <string>
#include <vector>

#include "model/people/script.h"
#include "model/world/world.h"
#include "sim/record.h"
#include "tools/export/vcd_writer.h"

namespace drybus::tools {

/// While a load fades, its level is written this often.
inline constexpr sim::Duration vcd_fade_step = std::chrono::milliseconds{20};

/// Watches a run and writes down every change. Scopes: the run, places, devices; and each bus. Variables,
/// named after their device:
///
///     P1_power P1_mode P1_indicator P1_site P1_zone P1_channel P1_button_up ...                       a plate
///     M1_power M1_mode M1_indicator M1_site M1_zone M1_channel M1_level M1_power_up M1_button_local   a module
///     bus_busy bus_telegram bus_sender   a medium; telegram and sender are z when it is idle, x when several send
///
/// Numbers: mode 1 is setup; indicator, power_up and telegram are the model's enumerators, told in a comment
/// of the dump; level is in tenths of a percent; a module's site, zone and channel are the address that it
/// has stored.
class VcdRecorder {
 public:
  /// The scenario must outlive it.
  explicit VcdRecorder(const model::Scenario& scenario);

  /// To be called after every event, as model::RunOptions::after_event.
  void observe(const model::World& world, const sim::Record& record);

  /// The dump, up to the world's clock. Once.
  [[nodiscard]] std::string finish(const model::World& world);

 private:
  using Variable = VcdWriter::Variable;
  struct DeviceVariables {
    Variable power{}, mode{}, indicator{}, site{}, zone{}, channel{};
    Variable level{}, power_up{};  ///< of a module
    std::vector<Variable> buttons;
  };
  struct BusVariables {
    std::uint32_t medium = 0;
    Variable busy{}, telegram{}, sender{};
  };
  /// The next time at which a fading load's level is to be written.
  struct FadeStep {
    sim::Instant at{};
    model::DeviceId device = model::no_device;
    friend auto operator<=>(const FadeStep&, const FadeStep&) = default;
  };

  /// A module's load as it was last seen, and when its level is to be written next.
  struct Fade {
    model::LoadState load;
    sim::Instant next = sim::never;
  };

  void declare_places();
  void declare_device(model::DeviceId device);
  void declare_buses();
  void write_device(const model::World& world, model::DeviceId device);
  void write_module(const model::World& world, model::DeviceId device);
  void write_load(const model::World& world, model::DeviceId device);
  void write_fade_step(const FadeStep& step);
  void write_fades_before(sim::Instant now);
  void write_buses(const model::World& world);

  const model::Scenario& scenario_;
  VcdWriter writer_;
  std::vector<DeviceVariables> devices_;
  std::vector<BusVariables> buses_;
  std::vector<Fade> fades_;        ///< one for each module
  std::set<FadeStep> fade_steps_;  ///< at most one for each module
  std::size_t seen_ = 0;
  bool begun_ = false;
};

}  // namespace drybus::tools
