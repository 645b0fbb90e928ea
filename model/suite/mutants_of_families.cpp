// Numbers and bindings that are off.
#include <algorithm>
#include <array>
#include <bit>
#include <utility>

#include "model/family/usual_machine.h"
#include "model/suite/mutant_shapes.h"

namespace drybus::model::mutant {

namespace {

/// Time-outs and the like are off by this: less than anybody can see, and as little as a check can tell.
constexpr sim::Duration tick = std::chrono::milliseconds{100};

sim::Duration longer(sim::Duration duration) {
  return duration + duration / 10;
}
sim::Duration shorter(sim::Duration duration) {
  return duration - duration / 10;
}

template <Command one, Command other>
void swap_commands(Family& family) {
  const auto swapped = [](Binding& binding) {
    if (binding.command == one) {
      binding.command = other;
    } else if (binding.command == other) {
      binding.command = one;
    }
  };
  std::for_each(family.plate.press.begin(), family.plate.press.end(), swapped);
  std::for_each(family.plate.hold.begin(), family.plate.hold.end(), swapped);
}

void recall_next(Family& family) {
  for (Binding& binding : family.plate.press) {
    if (binding.command == Command::recall) ++binding.scene;
  }
}

constexpr auto flip = [](TimeOut& time_out) {
  time_out.from = time_out.from == CountedFrom::entry ? CountedFrom::last_press : CountedFrom::entry;
};

// clang-format off
const std::array all = {
    // Times: one in ten more, one in ten less, and a tick where it decides whether two devices agree.
    Mutant{"plate: the time-out is 10 % longer", [](Family& f) { f.plate.time_out.after = longer(f.plate.time_out.after); }},
    Mutant{"plate: the time-out is 10 % shorter", [](Family& f) { f.plate.time_out.after = shorter(f.plate.time_out.after); }},
    Mutant{"plate: the time-out is a tick longer", [](Family& f) { f.plate.time_out.after += tick; }},
    Mutant{"plate: the time-out is a tick shorter", [](Family& f) { f.plate.time_out.after -= tick; }},
    Mutant{"plate: the time-out is counted from the other moment", [](Family& f) { flip(f.plate.time_out); }},
    Mutant{"module: the time-out is 10 % longer", [](Family& f) { f.module.time_out.after = longer(f.module.time_out.after); }},
    Mutant{"module: the time-out is 10 % shorter", [](Family& f) { f.module.time_out.after = shorter(f.module.time_out.after); }},
    Mutant{"module: the time-out is a tick longer", [](Family& f) { f.module.time_out.after += tick; }},
    Mutant{"module: the time-out is a tick shorter", [](Family& f) { f.module.time_out.after -= tick; }},
    Mutant{"module: the time-out is counted from the other moment", [](Family& f) { flip(f.module.time_out); }},
    Mutant{"plate: the gesture takes 10 % longer", [](Family& f) { f.plate.setup_hold = longer(f.plate.setup_hold); }},
    Mutant{"plate: the gesture takes 10 % less", [](Family& f) { f.plate.setup_hold = shorter(f.plate.setup_hold); }},
    Mutant{"module: the hold for setup takes 10 % longer", [](Family& f) { f.module.setup_hold = longer(f.module.setup_hold); }},
    Mutant{"module: the hold for setup takes 10 % less", [](Family& f) { f.module.setup_hold = shorter(f.module.setup_hold); }},
    Mutant{"plate: a long press takes 10 % longer", [](Family& f) { f.plate.long_press = longer(f.plate.long_press); }},
    Mutant{"plate: a long press takes 10 % less", [](Family& f) { f.plate.long_press = shorter(f.plate.long_press); }},
    Mutant{"plate: beacons come a third as often", [](Family& f) { f.plate.beacon *= 3; }},
    Mutant{"module: it breathes 10 % longer", [](Family& f) { f.indicator.breathe = longer(f.indicator.breathe); }},
    Mutant{"module: it breathes 10 % less", [](Family& f) { f.indicator.breathe = shorter(f.indicator.breathe); }},
    Mutant{"module: steady lasts 10 % longer", [](Family& f) { f.indicator.identify = longer(f.indicator.identify); }},
    Mutant{"module: steady lasts 10 % less", [](Family& f) { f.indicator.identify = shorter(f.indicator.identify); }},
    Mutant{"plate: a refusal shows 10 % longer", [](Family& f) { f.indicator.refuse = longer(f.indicator.refuse); }},
    Mutant{"plate: a refusal shows 10 % less", [](Family& f) { f.indicator.refuse = shorter(f.indicator.refuse); }},
    Mutant{"both: a blip lasts 10 % longer", [](Family& f) { f.indicator.blip = longer(f.indicator.blip); }},
    Mutant{"both: a blip lasts 10 % less", [](Family& f) { f.indicator.blip = shorter(f.indicator.blip); }},
    Mutant{"both: blips go to sleep 10 % later", [](Family& f) { f.indicator.blips_sleep = longer(f.indicator.blips_sleep); }},
    Mutant{"both: blips go to sleep 10 % sooner", [](Family& f) { f.indicator.blips_sleep = shorter(f.indicator.blips_sleep); }},
    Mutant{"module: a flash lasts 10 % longer", [](Family& f) { f.module.flash = longer(f.module.flash); }},
    Mutant{"module: a flash lasts 10 % less", [](Family& f) { f.module.flash = shorter(f.module.flash); }},
    Mutant{"module: a fade takes 10 % longer", [](Family& f) { f.module.fade = longer(f.module.fade); }},
    Mutant{"module: a fade takes 10 % less", [](Family& f) { f.module.fade = shorter(f.module.fade); }},
    Mutant{"module: raise and lower take 10 % longer", [](Family& f) { f.module.full_range = longer(f.module.full_range); }},
    Mutant{"module: raise and lower take 10 % less", [](Family& f) { f.module.full_range = shorter(f.module.full_range); }},
    Mutant{"module: a write takes no time", [](Family& f) { f.module.store = sim::Duration{1}; }},
    Mutant{"module: a write takes ten times as long", [](Family& f) { f.module.store *= 10; }},
    // Numbers and bindings.
    Mutant{"plate: one channel fewer", [](Family& f) { --f.plate.channels; }},
    Mutant{"plate: one channel more", [](Family& f) { ++f.plate.channels; }},
    Mutant{"module: one scene fewer", [](Family& f) { --f.module.scenes; }},
    Mutant{"module: a torn write leaves the next site number", [](Family& f) { ++f.module.factory_site; }},
    Mutant{"module: a torn write leaves it dark at power-up", [](Family& f) { f.module.factory_power_up = PowerUp::off; }},
    Mutant{"plate: it announces that it leaves where it should not, and not where it should", [](Family& f) { f.plate.machine = usual_plate_machine(!announces_leaving(f.plate.machine)); }},
    Mutant{"plate: one button of the gesture is enough", [](Family& f) { f.plate.setup_gesture = only(static_cast<Button>(std::countr_zero(f.plate.setup_gesture))); }},
    Mutant{"plate: next and previous are swapped", [](Family& f) { std::swap(f.plate.next, f.plate.previous); }},
    Mutant{"plate: identify and assign are swapped", [](Family& f) { std::swap(f.plate.identify, f.plate.assign); }},
    Mutant{"plate: on and off are swapped", swap_commands<Command::on, Command::off>},
    Mutant{"plate: raise and lower are swapped", swap_commands<Command::raise, Command::lower>},
    Mutant{"plate: store and recall are swapped", swap_commands<Command::store, Command::recall>},
    Mutant{"plate: it recalls the next scene", recall_next},
};
// clang-format on

}  // namespace

std::span<const Mutant> families() {
  return all;
}

}  // namespace drybus::model::mutant
