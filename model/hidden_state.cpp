#include "model/hidden_state.h"

namespace drybus::model {

namespace {

std::uint64_t of_plate(const PlateState& plate) {
  return plate.site | std::uint64_t{plate.zone} << 8 | std::uint64_t{plate.channel} << 16;
}

std::uint64_t of_module(const ModuleState& module) {
  const ModuleMemory& memory = module.storing != 0 ? module.writing : module.memory;
  const Address& address = memory.address;
  return address.site | std::uint64_t{address.zone} << 8 | std::uint64_t{address.channel} << 16 |
         static_cast<std::uint64_t>(memory.power_up) << 24;
}

}  // namespace

HiddenState hidden_state(const Site& site, const World& world) {
  HiddenState state;
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<DeviceId>(i);
    const DeviceState& common = world.devices[i];
    const std::uint64_t own = site.is_plate(device) ? of_plate(world.plates[i])
                                                    : of_module(world.modules[site.module_index(device)]);
    state.push_back(own | static_cast<std::uint64_t>(common.mode) << 32 |
                    std::uint64_t{common.powered} << 33 | std::uint64_t{common.stuck} << 34);
  }
  for (const sim::Medium::Impairment& each : world.medium.impairments()) {
    state.push_back(each.link | static_cast<std::uint64_t>(each.state) << 32);
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
