// One number of a family that is off: a time, a count, a binding, what memory keeps.
#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <utility>

#include "model/suite/mutants.h"

namespace drybus::model {

namespace {

/// Less than anybody can see, and as little as a check can tell.
constexpr sim::Duration tick = std::chrono::milliseconds{100};

/// A time of a family, and where it stands.
struct Time {
  std::string_view what;
  sim::Duration& (*of)(Family&);
};

// clang-format off
constexpr Time times[] = {
    {"plate: the time-out", [](Family& f) -> auto& { return f.plate.time_out.after; }},
    {"plate: the hold for setup", [](Family& f) -> auto& { return f.plate.setup_hold; }},
    {"plate: a long press", [](Family& f) -> auto& { return f.plate.long_press; }},
    {"plate: the time between two beacons", [](Family& f) -> auto& { return f.plate.beacon; }},
    {"module: the time-out", [](Family& f) -> auto& { return f.module.time_out.after; }},
    {"module: the hold for setup", [](Family& f) -> auto& { return f.module.setup_hold; }},
    {"module: the time that the supply counts as briefly on", [](Family& f) -> auto& { return f.module.supply_gesture.on_for; }},
    {"module: the time between two questions", [](Family& f) -> auto& { return f.module.ask; }},
    {"module: the time in which an offer can be confirmed", [](Family& f) -> auto& { return f.module.confirm; }},
    {"module: a write to memory", [](Family& f) -> auto& { return f.module.store; }},
    {"module: the load's flash", [](Family& f) -> auto& { return f.module.flash; }},
    {"module: a fade", [](Family& f) -> auto& { return f.module.fade; }},
    {"module: the way from one end to the other", [](Family& f) -> auto& { return f.module.full_range; }},
    {"indicator: identify", [](Family& f) -> auto& { return f.indicator.identify; }},
    {"indicator: refuse", [](Family& f) -> auto& { return f.indicator.refuse; }},
    {"indicator: breathe", [](Family& f) -> auto& { return f.indicator.breathe; }},
    {"indicator: a blip", [](Family& f) -> auto& { return f.indicator.blip; }},
    {"indicator: the time until blips sleep", [](Family& f) -> auto& { return f.indicator.blips_sleep; }},
};
// clang-format on

class NumberMutants {
 public:
  explicit NumberMutants(const Family& family) : family_(family) {}

  std::vector<Mutant> all() && {
    for (const Time& time : times) add_time(time);
    add_counts();
    add_plate_bindings();
    add_memory();
    return std::move(all_);
  }

 private:
  void add(std::string_view what, std::function<void(Family&)> alter) {
    all_.push_back({fmt::format("{}, {}", family_.name, what), family_.name, std::move(alter)});
  }

  void add_time(const Time& time) {
    Family copy = family_;
    const sim::Duration now = time.of(copy);
    if (now <= sim::Duration::zero()) return;
    const auto put = [&](sim::Duration other, std::string_view by) {
      if (other > sim::Duration::zero())
        add(fmt::format("{} is {}", time.what, by),
            [of = time.of, other](Family& family) { of(family) = other; });
    };
    put(now + now / 10, "10 % longer");
    put(now - now / 10, "10 % shorter");
    put(now + tick, "a tick longer");
    put(now - tick, "a tick shorter");
  }

  /// Whether a button means the last scene, or what a power cut takes away may come back with other scenes.
  [[nodiscard]] bool names_last_scene() const {
    const auto is_last = [&](const Binding& binding) { return binding.scene == family_.module.scenes; };
    const PlateFamily& plate = family_.plate;
    return std::any_of(plate.press.begin(), plate.press.end(), is_last) ||
           std::any_of(plate.hold.begin(), plate.hold.end(), is_last) ||
           family_.module.memory.torn_write == TornWrite::factory || !family_.module.memory.scenes;
  }

  void add_time_outs() {
    const auto flip = [](TimeOut& time_out) {
      time_out.from = time_out.from == CountedFrom::entry ? CountedFrom::last_press : CountedFrom::entry;
    };
    add("plate: the time-out is counted from the other moment",
        [flip](Family& f) { flip(f.plate.time_out); });
    // Without a button there is no last press.
    if (!family_.module.button.empty())
      add("module: the time-out is counted from the other moment",
          [flip](Family& f) { flip(f.module.time_out); });
  }

  void add_counts() {
    add_time_outs();
    if (family_.plate.channels > 1) add("plate: one channel fewer", [](Family& f) { --f.plate.channels; });
    if (family_.plate.channels < 255) add("plate: one channel more", [](Family& f) { ++f.plate.channels; });
    if (family_.module.scenes > 1 && names_last_scene())
      add("module: one scene fewer", [](Family& f) { --f.module.scenes; });
    if (family_.module.group != 0) {
      add("module: one zone more in a group", [](Family& f) { ++f.module.group; });
      if (family_.module.group > 1)
        add("module: one zone fewer in a group", [](Family& f) { --f.module.group; });
    }
    if (family_.module.supply_gesture.times > 2) {
      add("module: the supply has to come on once less", [](Family& f) { --f.module.supply_gesture.times; });
      add("module: the supply has to come on once more", [](Family& f) { ++f.module.supply_gesture.times; });
    }
    // What is as from the factory in a run already began so; only what a power cut takes away comes from here.
    const Memory& memory = family_.module.memory;
    const bool falls_back = memory.torn_write == TornWrite::factory;
    if (falls_back || !memory.address)
      add("module: the factory's site number is the next one", [](Family& f) { ++f.module.factory_site; });
    if (falls_back || !memory.power_up)
      add("module: another power-up mode from the factory", [](Family& f) {
        PowerUp& mode = f.module.factory_power_up;
        mode = mode == PowerUp::off ? PowerUp::full : PowerUp::off;
      });
  }

  void add_plate_bindings() {
    const PlateFamily& plate = family_.plate;
    if (std::popcount(plate.setup_gesture) > 1)
      add("plate: one button of the gesture is enough", [](Family& f) {
        f.plate.setup_gesture = only(static_cast<Button>(std::countr_zero(f.plate.setup_gesture)));
      });
    add_swap("next and previous", &PlateFamily::next, &PlateFamily::previous);
    add_swap("identify and assign", &PlateFamily::identify, &PlateFamily::assign);
    for (Button button = 0; button < plate.buttons.size(); ++button) {
      add_binding(button, "a press", &PlateFamily::press);
      add_binding(button, "a long press", &PlateFamily::hold);
    }
  }

  void add_swap(std::string_view which, Button PlateFamily::*one, Button PlateFamily::*other) {
    if (family_.plate.*one == no_button || family_.plate.*other == no_button) return;
    add(fmt::format("plate: {} are swapped", which),
        [one, other](Family& f) { std::swap(f.plate.*one, f.plate.*other); });
  }

  /// Does nothing; for a scene, means the next one.
  void add_binding(Button button, std::string_view how,
                   std::array<Binding, max_buttons> PlateFamily::*which) {
    const Binding& binding = (family_.plate.*which)[button];
    if (binding.command == Command::nothing) return;
    const std::string name = family_.plate.name_of(button);
    add(fmt::format("plate: {} of {} does nothing", how, name),
        [button, which](Family& f) { (f.plate.*which)[button] = {}; });
    if (binding.whom != Whom::zone)
      add(fmt::format("plate: {} of {} speaks for its own zone", how, name),
          [button, which](Family& f) { (f.plate.*which)[button].whom = Whom::zone; });
    if (binding.scene == 0) return;
    add(fmt::format("plate: {} of {} means another scene", how, name), [button, which](Family& f) {
      std::uint8_t& scene = (f.plate.*which)[button].scene;
      scene = scene < f.module.scenes ? static_cast<std::uint8_t>(scene + 1) : std::uint8_t{1};
    });
  }

  void add_memory() {
    const auto lose = [&](std::string_view what, bool Memory::*kept) {
      if (family_.module.memory.*kept)
        add(fmt::format("module: a power cut loses {}", what),
            [kept](Family& f) { f.module.memory.*kept = false; });
    };
    lose("the address", &Memory::address);
    lose("the scenes", &Memory::scenes);
    lose("the power-up mode", &Memory::power_up);
    lose("the last level", &Memory::last_level);
    add("module: a write that a power cut meets ends the other way", [](Family& f) {
      TornWrite& torn = f.module.memory.torn_write;
      torn = torn == TornWrite::factory ? TornWrite::before : TornWrite::factory;
    });
  }

  const Family& family_;
  std::vector<Mutant> all_;
};

}  // namespace

std::vector<Mutant> mutants_of_numbers(const Family& family) {
  return NumberMutants{family}.all();
}

}  // namespace drybus::model
