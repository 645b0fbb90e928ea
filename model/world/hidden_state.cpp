#include "model/world/hidden_state.h"

namespace drybus::model {

namespace {
constexpr std::uint64_t dead_load = std::uint64_t{1} << 63;
}

HiddenState hidden_state(const Site& site, const World& world) {
  HiddenState state;
  sim::Packer packer{[&](std::uint64_t word) { state.push_back(word); }};
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<DeviceId>(i);
    if (site.is_plate(device)) {
      sim::pack<sim::in_hidden>(packer, world.plates[i]);
    } else {
      sim::pack<sim::in_hidden>(packer, world.modules[site.module_index(device)].newest());
    }
    sim::pack<sim::in_hidden>(packer, world.devices[i]);
    packer.flush();  // a word for each device
    // Its last eight bits are the mode, which needs one of them.
    if (!site.is_plate(device) && world.loads[site.module_index(device)].dead != 0) state.back() |= dead_load;
  }
  for (const sim::Medium::Impairment& each : world.medium.impairments()) {
    sim::pack<sim::in_hidden>(packer, each);
  }
  return state;
}

std::vector<DeviceId> devices_that_differ(const Site& site, const HiddenState& a, const HiddenState& b) {
  std::vector<DeviceId> devices;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    if (a[i] != b[i]) devices.push_back(static_cast<DeviceId>(i));
  }
  return devices;
}

}  // namespace drybus::model
