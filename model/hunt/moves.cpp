#include "model/hunt/moves.h"

#include <algorithm>
#include <bit>

#include "model/site/ticking.h"
#include "model/world/installer.h"

namespace drybus::model {

namespace {

constexpr sim::ByEnum<MoveKind, std::string_view> kind_names = {"presses",      "holds",    "waits", "walks",
                                                                "long-presses", "looks",    "slips", "loss",
                                                                "power",        "switches", "stuck"};

/// How much longer than needed a button is held, and how much too short when it is let go too soon.
constexpr sim::Duration hold_margin = std::chrono::milliseconds{500};
/// People wait in tenths of a second; before and after a time-out by at least one.
constexpr sim::Duration tick = std::chrono::milliseconds{100};

constexpr std::array waited_for = {Timer::time_out, Timer::sleep};

sim::Duration up_to_tick(sim::Duration duration) {
  return (duration + tick - sim::Duration{1}) / tick * tick;
}

/// A number with one of its switches changed: a binary one the other way, a dial one further.
std::uint8_t changed(const SwitchBank& bank, std::uint8_t number, unsigned which) {
  if (bank.kind == SwitchBank::Kind::binary) return static_cast<std::uint8_t>(number ^ 1u << which);
  unsigned unit = 1;
  for (unsigned i = 0; i < which; ++i) unit *= 10;
  const unsigned digit = number / unit % 10;
  const unsigned turned = number + (digit == 9 ? 0u - 9 * unit : unit);
  return turned <= bank.largest() ? static_cast<std::uint8_t>(turned)
                                  : static_cast<std::uint8_t>(number - digit * unit);
}

}  // namespace

std::string_view to_string(MoveKind kind) {
  return kind_names[kind];
}

std::optional<MoveKind> parse_move_kind(std::string_view text) {
  return kind_names.find(text);
}

std::uint8_t usual_budget(MoveKind kind) {
  switch (kind) {
    case MoveKind::presses:
    case MoveKind::holds:
    case MoveKind::waits:
    case MoveKind::walks:
    case MoveKind::long_presses:
    case MoveKind::looks:
      return MoveBudget::unlimited;
    case MoveKind::slips:
    case MoveKind::loss:
    case MoveKind::power:
    case MoveKind::switches:
    case MoveKind::stuck:
      return 1;
  }
  return 1;
}

Moves::Moves(const Scenario& scenario, const MoveBudget& budget, std::uint32_t first_look)
    : scenario_(scenario), budget_(budget), first_look_(first_look) {
  const Site& site = scenario.site;
  on_the_bus_ = site.family.bus.frame_time(encode(Telegram{}));
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    if (site.is_neighbour(device)) continue;
    site.is_plate(device) ? add_plate(device) : add_module(device);
  }
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    if (!site.is_neighbour(device)) add_faults(device);
  }
  for (DeviceId plate = 0; plate < site.plates.size(); ++plate) {
    if (site.is_neighbour(plate)) continue;
    add_switches(plate);
    add_cuts(plate);
  }
  for (const bool on : {false, true}) {
    Step step;
    step.kind = StepKind::power;
    step.on = on;
    add({MoveKind::power, on, step, 0, std::nullopt});
  }
  for (std::size_t place = 0; place < site.places.size(); ++place) {
    Step step;
    step.kind = StepKind::walk;
    step.place = static_cast<PlaceId>(place);
    add({MoveKind::walks, false, step, 0, std::nullopt});
  }
}

void Moves::add(Move move) {
  if (budget_[move.kind] != 0) table_.push_back(std::move(move));
}

void Moves::add_plate(DeviceId plate) {
  const PlateFamily& family = scenario_.site.plate_family(plate);
  const sim::Duration briefly = scenario_.times.press;
  add({MoveKind::holds, false,
       push_step(StepKind::hold, plate, family.setup_gesture, family.setup_hold + hold_margin), 0,
       std::nullopt});
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    const auto button = static_cast<Button>(i);
    add({MoveKind::presses, false, push_step(StepKind::press, plate, only(button), briefly), 0,
         std::nullopt});
    if (family.hold[i].command == Command::nothing) continue;
    add({MoveKind::long_presses, false,
         push_step(StepKind::hold, plate, only(button), family.long_press + hold_margin), 0, std::nullopt});
  }
  add({MoveKind::slips, false,
       push_step(StepKind::hold, plate, family.setup_gesture,
                 std::max(tick, family.setup_hold - hold_margin)),
       0, std::nullopt});
}

void Moves::add_module(DeviceId module) {
  const ModuleFamily& family = scenario_.site.module_family(module);
  add({MoveKind::holds, false, push_step(StepKind::hold, module, 1, family.setup_hold + hold_margin), 0,
       std::nullopt});
  add({MoveKind::presses, false, push_step(StepKind::press, module, 1, scenario_.times.press), 0,
       std::nullopt});
  add({MoveKind::slips, false,
       push_step(StepKind::hold, module, 1, std::max(tick, family.setup_hold - hold_margin)), 0,
       std::nullopt});
}

void Moves::add_faults(DeviceId device) {
  Step look;
  look.kind = StepKind::see;
  look.device = device;
  look.checks = {first_look_ + device};
  add({MoveKind::looks, false, look, 0, std::nullopt});
  for (const bool on : {false, true}) {
    Step power;
    power.kind = StepKind::power;
    power.device = device;
    power.on = on;
    add({MoveKind::power, on, power, 0, std::nullopt});
  }
  const bool plate = scenario_.site.is_plate(device);
  Step fault;
  fault.kind = StepKind::fault;
  fault.fault.device = device;
  fault.fault.kind = FaultKind::deaf;
  fault.fault.count = 1;
  if (!plate) add({MoveKind::loss, false, fault, 0, std::nullopt});
  fault.fault.kind = FaultKind::stuck;
  fault.fault.count = 0;
  for (std::size_t i = 0; i < (plate ? scenario_.site.plate_family(device).buttons.size() : 1); ++i) {
    fault.fault.button = static_cast<Button>(i);
    add({MoveKind::stuck, false, fault, 0, std::nullopt});
  }
}

void Moves::add_switches(DeviceId plate) {
  const PlateFamily& family = scenario_.site.plate_family(plate);
  Step step;
  step.kind = StepKind::switches;
  step.device = plate;
  for (std::uint8_t i = 0; i < family.site_switches.count + family.zone_switches.count; ++i) {
    add({MoveKind::switches, false, step, i, std::nullopt});
  }
}

/// An assign that the plate sends while one of the modules is about to lose power.
void Moves::add_cuts(DeviceId plate) {
  const PlateFamily& family = scenario_.site.plate_family(plate);
  if (family.assign == no_button) return;
  for (std::size_t i = 0; i < scenario_.site.modules.size(); ++i) {
    const DeviceId module = scenario_.site.module_id(i);
    if (scenario_.site.is_neighbour(module) || scenario_.site.module_family(module).store <= sim::Duration::zero()) continue;
    const sim::Duration long_enough = std::max(scenario_.times.press, up_to_tick(cut_after(module)));
    add({MoveKind::power, false, push_step(StepKind::press, plate, only(family.assign), long_enough), 0,
         module});
  }
}

bool Moves::possible(const Move& move, const World& world, const MovesMade& made) const {
  const std::uint8_t most = budget_[move.kind];
  if (!move.free && most != MoveBudget::unlimited && made[move.kind] >= most) return false;
  const Step& step = move.step;
  const auto is_on = [&](DeviceId device) { return world.devices[device].powered != 0; };
  if (move.cut) {
    return is_on(*move.cut) && world.devices[*move.cut].mode == Mode::setup &&
           world.devices[step.device].mode == Mode::setup;
  }
  switch (move.kind) {
    case MoveKind::presses:
    case MoveKind::holds:
    case MoveKind::waits:
    case MoveKind::long_presses:
    case MoveKind::slips:
    case MoveKind::switches:
      return true;
    case MoveKind::walks:
      return step.place != world.people[0].place;
    case MoveKind::looks:
      return in_sight(scenario_.site, world.people[0].place, step.device);
    case MoveKind::loss:
      return is_on(step.fault.device) && world.medium.nodes()[step.fault.device].deaf_for == 0;
    case MoveKind::power: {
      if (step.device != no_device) return is_on(step.device) != step.on;
      DeviceId device = 0;
      return std::any_of(world.devices.begin(), world.devices.end(), [&](const DeviceState& state) {
        return !scenario_.site.is_neighbour(device++) && (state.powered != 0) != step.on;
      });
    }
    case MoveKind::stuck:
      return (world.devices[step.fault.device].stuck & only(step.fault.button)) == 0;
  }
  return false;
}

void Moves::fill_in(const Move& move, const World& world, Step& step) const {
  if (move.kind != MoveKind::switches) return;
  const PlateFamily& family = scenario_.site.plate_family(step.device);
  const PlateState& plate = world.plates[step.device];
  step.site.reset();
  step.zone.reset();
  if (move.switch_bit < family.site_switches.count) {
    step.site = changed(family.site_switches, plate.site, move.switch_bit);
  } else {
    step.zone = changed(family.zone_switches, plate.zone, move.switch_bit - family.site_switches.count);
  }
}

sim::Duration Moves::cut_after(DeviceId module) const {
  return on_the_bus_ + scenario_.site.module_family(module).store / 2;
}

sim::Instant Moves::time_of_cut(const Move& move, const World& world) const {
  const PlaceId stands = world.people[0].place;
  const PlaceId there = scenario_.site.place(move.step.device);
  const sim::Duration walk = stands == there ? sim::Duration::zero() : scenario_.site.walk(stands, there);
  return world.now + walk + cut_after(*move.cut);
}

std::size_t Moves::wait_actions() const {
  return 2 * waited_for.size() * scenario_.site.device_count();
}

void Moves::add_waits(const World& world, const MovesMade& made, std::span<const sim::Duration> deadlines,
                      std::vector<Wait>& waits) const {
  const std::uint8_t most = budget_[MoveKind::waits];
  if (most == 0 || (most != MoveBudget::unlimited && made[MoveKind::waits] >= most)) return;
  auto action = static_cast<sim::Action>(table_.size());
  const auto add_both_sides = [&](sim::Duration left) {
    const sim::Duration before = (left - tick) / tick * tick;
    if (before > sim::Duration::zero()) waits.push_back({action, before});
    waits.push_back({static_cast<sim::Action>(action + 1), up_to_tick(left + tick)});
  };
  for (const DeviceState& device : world.devices) {
    for (const Timer timer : waited_for) {
      const sim::EventQueue::Handle handle = device.timers[static_cast<std::size_t>(timer)];
      if (handle != sim::EventQueue::none) add_both_sides(world.queue.due(handle) - world.now);
      action = static_cast<sim::Action>(action + 2);
    }
  }
  for (const sim::Duration left : deadlines) {
    add_both_sides(left);
    action = static_cast<sim::Action>(action + 2);
  }
  put_in_order(waits);
}

void add_changes_to_come(const Scenario& scenario, const World& world, std::vector<sim::Duration>& deadlines) {
  const Ticking* ticking = ticking_of(scenario.site.logic.get());
  if (ticking == nullptr) return;
  for (DeviceId device = 0; device < scenario.site.device_count(); ++device) {
    if (const auto change = ticking->next_change(scenario.site, world, device)) deadlines.push_back(*change - world.now);
  }
}

void put_in_order(std::vector<Wait>& waits) {
  std::sort(waits.begin(), waits.end(), [](const Wait& a, const Wait& b) {
    return a.duration != b.duration ? a.duration < b.duration : a.action < b.action;
  });
  const auto same = [](const Wait& a, const Wait& b) { return a.duration == b.duration; };
  waits.erase(std::unique(waits.begin(), waits.end(), same), waits.end());
}

}  // namespace drybus::model
