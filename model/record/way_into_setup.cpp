#include "model/record/way_into_setup.h"

#include <fmt/format.h>

#include "model/people/setup_steps.h"
#include "model/record/describe.h"
#include "model/words/words.h"

namespace drybus::model {

std::string way_into_setup(const Site& site, DeviceId device, bool capital) {
  if (!by_supply(site, device)) {
    const std::string buttons = buttons_text(site, device, site.setup_gesture(device));
    const std::string time = duration_text(site.setup_hold(device));
    return capital ? tr("Hold {} for {}", buttons, time) : tr("hold {} for {}", buttons, time);
  }
  const SupplyGesture& gesture = site.module_family(device).supply_gesture;
  const std::string time = duration_text(gesture.on_for);
  return capital ? tr("Switch {}'s supply off and on {} times, each time on for less than {}",
                      site.name(device), gesture.times, time)
                 : tr("switch {}'s supply off and on {} times, each time on for less than {}",
                      site.name(device), gesture.times, time);
}

std::string why_in_setup(const Site& site, DeviceId device) {
  if (!by_supply(site, device)) return tr("its button was held long enough");
  return tr("its supply came on {} times", site.module_family(device).supply_gesture.times);
}

std::string offer_sentence(const Site& site, DeviceId plate, DeviceId module) {
  const ModuleFamily& family = site.module_family(module);
  const Button assign = site.plate_family(plate).assign;
  if (assign == no_button)
    return tr("wait until {} has asked and {} has answered", site.name(module), site.name(plate));
  const std::string press = tr("press {}", buttons_text(site, plate, only(assign)));
  if (family.confirm == sim::Duration::zero()) return press;
  return tr("{} and, within {}, {}", press, duration_text(family.confirm),
            buttons_text(site, module, only(0)));
}

}  // namespace drybus::model
