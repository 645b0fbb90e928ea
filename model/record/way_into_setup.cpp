#include "model/record/way_into_setup.h"

#include <fmt/format.h>

#include "model/people/setup_steps.h"
#include "model/record/describe.h"

namespace drybus::model {

std::string way_into_setup(const Site& site, DeviceId device, bool capital) {
  if (!by_supply(site, device)) {
    return fmt::format("{} {} for {}", capital ? "Hold" : "hold",
                       buttons_text(site, device, site.setup_gesture(device)),
                       duration_text(site.setup_hold(device)));
  }
  const SupplyGesture& gesture = site.module_family(device).supply_gesture;
  return fmt::format("{} {}'s supply off and on {} times, each time on for less than {}",
                     capital ? "Switch" : "switch", site.name(device), gesture.times,
                     duration_text(gesture.on_for));
}

std::string why_in_setup(const Site& site, DeviceId device) {
  if (!by_supply(site, device)) return "its button was held long enough";
  return fmt::format("its supply came on {} times", site.module_family(device).supply_gesture.times);
}

std::string offer_sentence(const Site& site, DeviceId plate, DeviceId module) {
  const ModuleFamily& family = site.module_family(module);
  const Button assign = site.plate_family(plate).assign;
  if (assign == no_button)
    return fmt::format("wait until {} has asked and {} has answered", site.name(module), site.name(plate));
  const std::string press = fmt::format("press {}", buttons_text(site, plate, only(assign)));
  if (family.confirm == sim::Duration::zero()) return press;
  return fmt::format("{} and, within {}, {}", press, duration_text(family.confirm),
                     buttons_text(site, module, only(0)));
}

}  // namespace drybus::model
