#include "model/firmware/numbers.h"

#include <algorithm>
#include <iterator>

#include "model/family/usual_machine.h"

namespace drybus::model {

namespace {

// The interface's numbers are the model's own; whoever changes one of them has to raise DRYBUS_FIRMWARE_ABI.
static_assert(max_buttons == DRYBUS_BUTTONS && max_scenes == DRYBUS_SCENES && no_button == DRYBUS_NO_BUTTON);
static_assert(static_cast<int>(Command::lower) == DRYBUS_DO_LOWER &&
              static_cast<int>(Command::recall) == DRYBUS_DO_RECALL);
static_assert(static_cast<int>(PowerUp::last) == DRYBUS_POWER_UP_LAST &&
              static_cast<int>(PowerUp::off) == DRYBUS_POWER_UP_OFF);
static_assert(static_cast<int>(CountedFrom::last_press) == DRYBUS_FROM_LAST_PRESS);
static_assert(no_scene_level == DRYBUS_NO_LEVEL);
static_assert(sizeof(drybus_telegram) == 8);

std::uint8_t number(auto value) {
  return static_cast<std::uint8_t>(value);
}

void fill_plate(const PlateFamily& plate, drybus_numbers& numbers) {
  numbers.plate_buttons = number(plate.buttons.size());
  numbers.plate_channels = plate.channels;
  numbers.plate_next = plate.next;
  numbers.plate_previous = plate.previous;
  numbers.plate_identify = plate.identify;
  numbers.plate_assign = plate.assign;
  numbers.plate_leave = plate.leave;
  numbers.plate_announces_leaving = announces_leaving(plate.machine) ? 1 : 0;
  numbers.plate_time_out_from = number(plate.time_out.from);
  numbers.plate_setup_gesture = plate.setup_gesture;
  for (std::size_t i = 0; i < max_buttons; ++i) {
    numbers.plate_press[i] = {number(plate.press[i].command), plate.press[i].scene};
    numbers.plate_hold[i] = {number(plate.hold[i].command), plate.hold[i].scene};
  }
  numbers.plate_setup_hold = plate.setup_hold.count();
  numbers.plate_long_press = plate.long_press.count();
  numbers.plate_time_out = plate.time_out.after.count();
  numbers.plate_beacon = plate.beacon.count();
}

void fill_module(const ModuleFamily& module, drybus_numbers& numbers) {
  numbers.module_scenes = module.scenes;
  numbers.module_factory_site = module.factory_site;
  numbers.module_factory_power_up = number(module.factory_power_up);
  numbers.module_time_out_from = number(module.time_out.from);
  numbers.module_setup_hold = module.setup_hold.count();
  numbers.module_time_out = module.time_out.after.count();
  numbers.module_store = module.store.count();
  numbers.module_flash = module.flash.count();
  numbers.module_fade = module.fade.count();
  numbers.module_full_range = module.full_range.count();
  const drybus_provision factory = provision_of(factory_memory(module));
  numbers.module_factory_last_level = factory.last_level;
  std::copy(std::begin(factory.scene_level), std::end(factory.scene_level),
            std::begin(numbers.module_factory_scene_level));
}

}  // namespace

drybus_numbers numbers_of(const Family& family) {
  drybus_numbers numbers{};
  fill_plate(family.plate, numbers);
  fill_module(family.module, numbers);
  numbers.debounce = family.debounce.count();
  numbers.show_identify = family.indicator.identify.count();
  numbers.show_refuse = family.indicator.refuse.count();
  numbers.show_breathe = family.indicator.breathe.count();
  numbers.show_blip = family.indicator.blip.count();
  numbers.blips_sleep = family.indicator.blips_sleep.count();
  numbers.bus_is_radio = family.medium == sim::MediumKind::radio ? 1 : 0;
  numbers.bus_telegram = family.bus.frame_time(encode(Telegram{})).count();
  return numbers;
}

drybus_provision provision_of(const ModuleMemory& memory) {
  drybus_provision provision{};
  provision.site = memory.address.site;
  provision.zone = memory.address.zone;
  provision.channel = memory.address.channel;
  provision.power_up = number(memory.power_up);
  provision.last_level = memory.last_level;
  for (std::size_t i = 0; i < max_scenes; ++i) provision.scene_level[i] = memory.scenes[i];
  return provision;
}

}  // namespace drybus::model
