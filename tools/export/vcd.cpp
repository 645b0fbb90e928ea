#include "tools/export/vcd.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/record/trace.h"
#include "tools/export/buses.h"
#include "tools/export/who.h"

namespace drybus::tools {

using model::DeviceId;
using model::World;

namespace {

/// "0 dark, 1 blip, ..."
template <class Enumerator>
std::string legend(std::uint8_t first, std::uint8_t last) {
  std::string text;
  for (unsigned i = first; i <= last; ++i) {
    text += fmt::format("{}{} {}", text.empty() ? "" : ", ", i, to_string(static_cast<Enumerator>(i)));
  }
  return text;
}

}  // namespace

VcdRecorder::VcdRecorder(const model::Scenario& scenario)
    : scenario_(scenario), writer_(fmt::format("drybus {}", DRYBUS_VERSION)) {
  writer_.comment(scenario.title);
  writer_.comment("mode: 0 normal, 1 setup");
  writer_.comment("indicator: " + legend<model::Pattern>(0, sim::count_of<model::Pattern> - 1));
  writer_.comment("power_up: " + legend<model::PowerUp>(0, sim::count_of<model::PowerUp> - 1));
  writer_.comment("telegram: " + legend<model::TelegramKind>(1, model::last_telegram_kind));
  writer_.comment(
      "level: tenths of a percent; site, zone and channel of a module: the address stored, channel 0 is "
      "none");
  devices_.resize(scenario.site.device_count());
  fades_.resize(scenario.site.modules.size());
  writer_.open_scope("drybus");
  declare_places();
  declare_buses();
  writer_.close_scope();
}

void VcdRecorder::declare_places() {
  for (std::size_t place = 0; place < scenario_.site.places.size(); ++place) {
    writer_.open_scope(scenario_.site.places[place].name);
    for (std::size_t i = 0; i < devices_.size(); ++i) {
      const auto device = static_cast<DeviceId>(i);
      if (scenario_.site.place(device) == place) declare_device(device);
    }
    writer_.close_scope();
  }
}

void VcdRecorder::declare_device(DeviceId device) {
  const model::Site& site = scenario_.site;
  const std::string& name = site.name(device);
  const auto declare = [&](std::string_view what, std::uint8_t bits) {
    return writer_.declare(fmt::format("{}_{}", name, what), bits);
  };
  DeviceVariables& variables = devices_[device];
  writer_.open_scope(name);
  variables.power = declare("power", 1);
  variables.mode = declare("mode", 1);
  variables.indicator = declare("indicator", 3);
  variables.site = declare("site", 8);
  variables.zone = declare("zone", 8);
  variables.channel = declare("channel", 8);
  if (site.is_plate(device)) {
    for (const std::string& button : site.plate_family(device).buttons)
      variables.buttons.push_back(declare("button_" + button, 1));
  } else {
    variables.level = declare("level", 10);
    variables.power_up = declare("power_up", 2);
    const std::string& button = site.module_family(device).button;
    if (!button.empty()) variables.buttons.push_back(declare("button_" + button, 1));
  }
  writer_.close_scope();
}

void VcdRecorder::declare_buses() {
  for (const auto& [medium, name] : buses_of(scenario_.site)) {
    writer_.open_scope(name);
    BusVariables variables{medium, {}, {}, {}};
    variables.busy = writer_.declare(name + "_busy", 1);
    variables.telegram = writer_.declare(name + "_telegram", 8);
    variables.sender = writer_.declare(name + "_sender", 16);
    buses_.push_back(variables);
    writer_.close_scope();
  }
}

void VcdRecorder::observe(const World& world, const sim::Record& record) {
  write_fades_before(world.now);
  const bool first = !begun_;
  begun_ = true;
  if (first) {
    for (std::size_t i = 0; i < devices_.size(); ++i) write_device(world, static_cast<DeviceId>(i));
    write_buses(world);
  }
  if (seen_ == record.size()) return;
  for (; seen_ < record.size(); ++seen_) {
    const sim::Entry& entry = record[static_cast<sim::EntryId>(seen_ + 1)];
    const bool device = who_is(model::what(entry)) == Who::node && entry.who < devices_.size();
    if (device && !first) write_device(world, entry.who);
  }
  write_buses(world);
}

void VcdRecorder::write_device(const World& world, DeviceId device) {
  const DeviceVariables& variables = devices_[device];
  const model::DeviceState& state = world.devices[device];
  const auto write = [&](Variable variable, std::uint32_t value) { writer_.set(world.now, variable, value); };
  write(variables.power, state.powered);
  write(variables.mode, static_cast<std::uint32_t>(state.mode));
  write(variables.indicator, static_cast<std::uint32_t>(state.indicator));
  for (std::size_t button = 0; button < variables.buttons.size(); ++button) {
    write(variables.buttons[button], state.contacts >> button & 1u);
  }
  if (!scenario_.site.is_plate(device)) return write_module(world, device);
  const model::PlateState& plate = world.plates[device];
  write(variables.site, plate.site);
  write(variables.zone, plate.zone);
  write(variables.channel, plate.channel);
}

void VcdRecorder::write_module(const World& world, DeviceId device) {
  const DeviceVariables& variables = devices_[device];
  const model::ModuleMemory& memory = world.modules[scenario_.site.module_index(device)].memory;
  writer_.set(world.now, variables.site, memory.address.site);
  writer_.set(world.now, variables.zone, memory.address.zone);
  writer_.set(world.now, variables.channel, memory.address.channel);
  writer_.set(world.now, variables.power_up, static_cast<std::uint32_t>(memory.power_up));
  write_load(world, device);
}

void VcdRecorder::write_load(const World& world, DeviceId device) {
  const std::size_t index = scenario_.site.module_index(device);
  const model::LoadState& load = world.loads[index];
  Fade& fade = fades_[index];
  if (load == fade.load && fade.next != sim::never) return;  // its steps will be written when they are due
  fade.load = load;
  fade_steps_.erase({fade.next, device});
  write_fade_step({world.now, device});
}

void VcdRecorder::write_fade_step(const FadeStep& step) {
  Fade& fade = fades_[scenario_.site.module_index(step.device)];
  writer_.set(step.at, devices_[step.device].level, fade.load.at(step.at));
  const bool goes_on = fade.load.begin + fade.load.duration > step.at;
  fade.next = goes_on ? step.at + vcd_fade_step : sim::never;
  if (goes_on) fade_steps_.insert({fade.next, step.device});
}

void VcdRecorder::write_fades_before(sim::Instant now) {
  while (!fade_steps_.empty() && fade_steps_.begin()->at < now) {
    const FadeStep step = *fade_steps_.begin();
    fade_steps_.erase(fade_steps_.begin());
    write_fade_step(step);
  }
}

void VcdRecorder::write_buses(const World& world) {
  for (const BusVariables& bus : buses_) {
    const sim::Medium::Transmission* only = nullptr;
    std::size_t count = 0;
    for (const sim::Medium::Transmission& transmission : world.medium.on_the_medium()) {
      if (transmission.ended || scenario_.site.network.nodes[transmission.node].medium != bus.medium)
        continue;
      only = &transmission;
      ++count;
    }
    VcdWriter::Value telegram{VcdWriter::Value::State::idle, 0};
    VcdWriter::Value sender = telegram;
    if (count == 1) {
      telegram = {{}, only->frame.bytes[0]};  // the kind is a telegram's first byte
      sender = {{}, only->node};
    } else if (count > 1) {
      telegram = sender = {VcdWriter::Value::State::unknown, 0};
    }
    writer_.set(world.now, bus.busy, count != 0 ? 1 : 0);
    writer_.set(world.now, bus.telegram, telegram);
    writer_.set(world.now, bus.sender, sender);
  }
}

std::string VcdRecorder::finish(const World& world) {
  write_fades_before(world.now);
  return writer_.finish(world.now);
}

}  // namespace drybus::tools
