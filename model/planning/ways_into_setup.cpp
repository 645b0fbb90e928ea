#include "model/planning/ways_into_setup.h"

#include <fmt/format.h>

#include <algorithm>

#include "model/planning/cover_work.h"
#include "model/planning/route.h"

namespace drybus::model {

namespace {

bool answers(const PlateFamily& family) {
  return std::any_of(family.machine.rows.begin(), family.machine.rows.end(),
                     [](const MachineRow& row) { return row.on == Event::heard_ask; });
}

}  // namespace

std::uint8_t first_channel(const PlateFamily& family) {
  for (const MachineState& state : family.machine.states) {
    for (const Action& action : state.entry) {
      if (action.verb == Verb::start_at_channel) return action.argument;
    }
  }
  return 0;
}

bool by_supply(const Site& site, DeviceId device) {
  return !site.is_plate(device) && site.module_family(device).supply_gesture.times != 0;
}

void add_supply_steps(const Site& site, DeviceId module, std::vector<Step>& steps) {
  if (site.places.size() > 1 && site.place(module) != no_place) {
    Step walk;
    walk.kind = StepKind::walk;
    walk.place = site.place(module);
    steps.push_back(walk);
  }
  const SupplyGesture& gesture = site.module_family(module).supply_gesture;
  steps.push_back(wait_step(gesture.on_for + hold_margin));
  for (std::uint8_t i = 0; i < 2 * gesture.times; ++i) {
    Step supply;
    supply.kind = StepKind::power;
    supply.device = module;
    supply.on = i % 2 != 0;
    steps.push_back(supply);
  }
}

void add_setup_steps(const Site& site, DeviceId module, sim::Duration longer, std::vector<Step>& steps) {
  if (by_supply(site, module)) return add_supply_steps(site, module, steps);
  steps.push_back(
      push_step(StepKind::hold, module, site.setup_gesture(module), site.setup_hold(module) + longer));
}

bool asks(const Site& site, DeviceId module) {
  return site.module_family(module).ask > sim::Duration::zero();
}

sim::Duration confirmed_within(const Site& site, DeviceId module) {
  return site.module_family(module).confirm;
}

WayTimes way_times(const Site& site, const HumanTimes& times, DeviceId device) {
  if (!by_supply(site, device))
    return {site.setup_hold(device) + hold_margin + times.pause, hold_margin + times.pause};
  const SupplyGesture& gesture = site.module_family(device).supply_gesture;
  // In setup from when it comes on for the last time.
  return {gesture.on_for + hold_margin + times.pause * (2 * gesture.times), times.pause};
}

std::string why_not_addressed(const Site& site, DeviceId plate, DeviceId module) {
  const std::string& plate_name = site.name(plate);
  const std::string& name = site.name(module);
  if (site.setup_gesture(plate) == 0) return fmt::format("{} has no way into setup", plate_name);
  if (!by_supply(site, module) && site.module_family(module).button.empty())
    return fmt::format("{} has no button, and its supply does not put it in setup", name);
  if (asks(site, module))
    return answers(site.plate_family(plate)) ? "" : fmt::format("{} answers no module that asks", plate_name);
  if (site.plate_family(plate).assign == no_button)
    return fmt::format("{} only answers, and {} does not ask", plate_name, name);
  return {};
}

}  // namespace drybus::model
