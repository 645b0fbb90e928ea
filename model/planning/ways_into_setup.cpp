#include "model/planning/ways_into_setup.h"

#include <algorithm>

#include "model/planning/route.h"
#include "model/words/words.h"

namespace drybus::model {

namespace {

bool answers(const PlateFamily& family) {
  return std::any_of(family.machine.rows.begin(), family.machine.rows.end(),
                     [](const MachineRow& row) { return row.on == Event::heard_ask; });
}

}  // namespace

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
  if (site.setup_gesture(plate) == 0) return tr("{} has no way into setup", plate_name);
  if (!by_supply(site, module) && site.module_family(module).button.empty())
    return tr("{} has no button, and its supply does not put it in setup", name);
  if (asks(site, module))
    return answers(site.plate_family(plate)) ? "" : tr("{} answers no module that asks", plate_name);
  if (site.plate_family(plate).assign == no_button)
    return tr("{} only answers, and {} does not ask", plate_name, name);
  return {};
}

}  // namespace drybus::model
