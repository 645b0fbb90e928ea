// What callers tell of and no plan of work has to reckon with: steps the other way round, somebody else's hands, devices
// that were left in setup, loads that give no light, modules that come up otherwise than believed.
#include <algorithm>
#include <cmath>

#include "model/diagnosis/placing.h"
#include "model/diagnosis/unsure.h"

namespace drybus::model {

using namespace std::chrono_literals;

namespace {

/// Longer than a family asks for; between what somebody else did and what the installer does next.
constexpr sim::Duration held_longer = 500ms;
constexpr sim::Duration just_before = 250ms;
constexpr sim::Duration well_before = 2s;
constexpr sim::Duration quick_press = 100ms;

/// A load that gives no light gave none from the beginning as often as not. Judgement.
constexpr double dark_before = 0.5;

Step supply_of(DeviceId module, bool on) {
  Step step;
  step.kind = StepKind::power;
  step.device = module;
  step.on = on;
  return step;
}

}  // namespace

std::vector<PlacedChange> Placing::of_calls() {
  for (step_ = 0; step_ < script_.size(); ++step_) {
    place_exchanged();
    place_forgotten_supply();
    place_lost_offer();
    place_lost_store();
  }
  for (std::size_t i = 0; i < site_.device_count(); ++i) {
    const auto device = static_cast<DeviceId>(i);
    if (site_.is_neighbour(device)) continue;
    place_was_in_setup(device);
    place_other_hands(device);
    if (site_.is_plate(device)) continue;
    place_dead_load(device);
    place_other_power_up(device);
  }
  return std::move(out_);
}

// --- slips ---

/// A step and the next one the other way round. What was seen after either comes where it was.
void Placing::place_exchanged() {
  if (step_ + 1 >= script_.size() || !is_act(step()) || !is_act(script_[step_ + 1])) return;
  const Step& next = script_[step_ + 1];
  if (next.device == step().device && next.buttons == step().buttons && next.kind == step().kind) return;
  PlacedCause placed = placed_here(Mishap::exchanged);
  const bool of_modules = is_module(step().device) && is_module(next.device);
  if (!of_modules) placed.device = no_device;
  PlacedChange& added =
      add(placed, chance(Mishap::exchanged), {change::Insert{here(), {next}}, change::Leave{{0, step_ + 1}}});
  if (of_modules && next.device != step().device) added.touches.push_back(next.device);
}

/// Where the supply is a way into setup, a switch of it is left out as easily as a press.
void Placing::place_forgotten_supply() {
  if (step().kind != StepKind::power || step().device == no_device) return;
  add(placed_here(Mishap::forgot), chance(Mishap::forgot), {change::Skip{here()}});
}

// --- telegrams that were missed ---

/// A module that asks is offered an address with nobody pressing anything: it may miss that, and the next offer is of the
/// next channel.
void Placing::place_lost_offer() {
  if (!is_act(step()) || !is_module(step().device) || !is_gesture(step())) return;
  if (site_.module_family(step().device).ask <= sim::Duration::zero()) return;
  place_lost(step().device, chance(Mishap::telegram_lost));
}

/// Of a scene that was stored nobody notices at the time whether all have heard of it.
void Placing::place_lost_store() {
  if (!is_act(step()) || !site_.is_plate(step().device) || in_setup_before(step().device, step_)) return;
  const PlateFamily& family = site_.plate_family(step().device);
  const bool stores = step().duration >= family.long_press &&
                      std::any_of(family.buttons.begin(), family.buttons.end(), [&](const std::string& name) {
                        const auto button = static_cast<std::size_t>(&name - family.buttons.data());
                        return step().buttons == only(static_cast<Button>(button)) &&
                               family.hold[button].command == Command::store;
                      });
  if (!stores) return;
  for (const DeviceId module : our_modules()) {
    if (is_load_seen_after(module, step_)) place_lost(module, chance(Mishap::telegram_lost));
  }
}

bool Placing::is_load_seen_after(DeviceId module, std::uint32_t index) const {
  return std::any_of(report_.seen.begin(), report_.seen.end(), [&](const Seen& seen) {
    return seen.device == module && seen.fact == Fact::load && seen.after_step.value_or(last_step()) >= index;
  });
}

// --- in setup already ---

/// When the work began; or, where that would be over by then, just before somebody first comes to it.
void Placing::place_was_in_setup(DeviceId device) {
  const std::vector<Step> way = way_into_setup(device);
  if (way.empty()) return;
  PlacedCause placed;
  placed.cause = Mishap::was_in_setup;
  placed.device = device;
  const auto first = first_act_at(device);
  const bool over = first && times_.begins[*first] - sim::start_of_run > site_.time_out(device).after;
  add(placed, chance(Mishap::was_in_setup) * (over ? 0.5 : 1), {change::Insert{{0, 0}, way}});
  if (!over || in_setup_before(device, *first)) return;
  placed.step = first;
  std::vector<Step> meanwhile = way;
  const sim::Duration takes = time_of(way);
  meanwhile.front().at = times_.begins[*first] + walk_before(*first) - takes - well_before;
  if (*meanwhile.front().at < sim::start_of_run) return;
  add(placed, chance(Mishap::was_in_setup) * 0.5, {change::Meanwhile{meanwhile}});
}

std::vector<Step> Placing::way_into_setup(DeviceId device) const {
  if (!site_.is_plate(device) && site_.module_family(device).supply_gesture.times != 0) {
    std::vector<Step> steps;
    for (std::uint8_t i = 0; i < 2 * site_.module_family(device).supply_gesture.times; ++i)
      steps.push_back(supply_of(device, i % 2 != 0));
    return steps;
  }
  if (site_.setup_hold(device) <= sim::Duration::zero()) return {};
  return {
      push_step(StepKind::hold, device, site_.setup_gesture(device), site_.setup_hold(device) + held_longer)};
}

sim::Duration Placing::time_of(const std::vector<Step>& steps) const {
  return timetable(site_, believed_.times, {"", site_.place(steps.front().device), steps}).ends -
         sim::start_of_run;
}

std::optional<std::uint32_t> Placing::first_act_at(DeviceId device) const {
  for (std::uint32_t i = 0; i < script_.size(); ++i) {
    const bool by_hand = is_act(script_[i]) || script_[i].kind == StepKind::power;
    if (by_hand && script_[i].device == device) return i;
  }
  return std::nullopt;
}

// --- somebody else's hands ---

/// A press matters where the device is in setup, and else before a look at what it switches.
void Placing::place_other_hands(DeviceId device) {
  std::vector<std::pair<Button, std::uint32_t>> presses;
  std::vector<std::uint32_t> moments = positions_;
  moments.push_back(static_cast<std::uint32_t>(script_.size()));
  std::optional<std::uint32_t> before;
  for (const std::uint32_t moment : moments) {
    for (const Button button : buttons_that_matter(device, moment, before))
      presses.emplace_back(button, moment);
    before = moment;
  }
  for (const auto& [button, moment] : presses)
    add_other_hands(
        device, button, moment,
        chance(Mishap::other_hands) / static_cast<double>(std::max<std::size_t>(4, presses.size())));
}

std::vector<Button> Placing::buttons_that_matter(DeviceId device, std::uint32_t moment,
                                                 const std::optional<std::uint32_t>& before) const {
  const bool in_setup = in_setup_before(device, moment);
  if (!site_.is_plate(device)) {
    if (site_.module_family(device).button.empty()) return {};
    const bool left_since = in_setup && (!before || !in_setup_before(device, *before));
    return left_since || is_looked_at_just_after(device, moment) ? std::vector{Button{0}}
                                                                 : std::vector<Button>{};
  }
  const PlateFamily& family = site_.plate_family(device);
  std::vector<Button> buttons;
  if (in_setup) {
    for (const Button button : {family.next, family.previous, family.assign, family.leave})
      if (button != no_button) buttons.push_back(button);
    return buttons;
  }
  if (!is_any_load_looked_at(moment)) return {};
  for (std::size_t i = 0; i < family.buttons.size(); ++i) {
    const Command command = family.press[i].command;
    if (command == Command::on || command == Command::off) buttons.push_back(static_cast<Button>(i));
  }
  return buttons;
}

bool Placing::is_look_of(const Seen& seen, std::uint32_t moment) const {
  const auto steps = static_cast<std::uint32_t>(script_.size());
  return seen.after_step ? *seen.after_step + 1 == moment : moment == steps;
}

bool Placing::is_looked_at_just_after(DeviceId module, std::uint32_t moment) const {
  return std::any_of(report_.seen.begin(), report_.seen.end(), [&](const Seen& seen) {
    return seen.device == module && seen.fact == Fact::load && is_look_of(seen, moment);
  });
}

bool Placing::is_any_load_looked_at(std::uint32_t moment) const {
  return std::any_of(report_.seen.begin(), report_.seen.end(),
                     [&](const Seen& seen) { return seen.fact == Fact::load && is_look_of(seen, moment); });
}

void Placing::add_other_hands(DeviceId device, Button button, std::uint32_t moment, double with_chance) {
  const sim::Instant then = moment < times_.begins.size() ? times_.begins[moment] : times_.ends;
  // For a look at lights they have faded.
  const bool in_setup = in_setup_before(device, moment);
  Step press = push_step(StepKind::press, device, only(button), quick_press);
  press.at = std::max(sim::start_of_run, then - (in_setup ? just_before : well_before));
  PlacedCause placed;
  placed.cause = Mishap::other_hands;
  placed.device = device;
  placed.buttons = only(button);
  placed.step = moment;
  add(placed, with_chance, {change::Meanwhile{{press}}}).covers = covers(moment, positions_.size() + 1);
}

// --- loads and memories ---

void Placing::place_dead_load(DeviceId module) {
  const auto when = few_moments();
  for (const auto& at : when) {
    Step dead;
    dead.kind = StepKind::fault;
    dead.fault.kind = FaultKind::dead_load;
    dead.fault.device = module;
    PlacedCause placed;
    placed.cause = Mishap::dead_load;
    placed.device = module;
    placed.step = at;
    const double share = when.size() < 2 ? 1
                         : at            ? (1 - dark_before) / static_cast<double>(when.size() - 1)
                                         : dark_before;
    add(placed, chance(Mishap::dead_load) * share, before(at, {dead})).covers = covers(at, when.size());
  }
}

void Placing::place_other_power_up(DeviceId module) {
  const ModuleMemory& believed = site_.modules[site_.module_index(module)].memory;
  for (const PowerUp mode : sim::all_of<PowerUp>()) {
    if (mode == believed.power_up) continue;
    ModuleMemory memory = believed;
    memory.power_up = mode;
    if (mode == PowerUp::last) memory.last_level = full_level;
    PlacedCause placed;
    placed.cause = Mishap::other_power_up;
    placed.device = module;
    placed.power_up = mode;
    add(placed, chance(Mishap::other_power_up) / 2, {change::Memory{module, memory}});
  }
}

std::vector<PlacedChange> place_causes_of_calls(const Retelling& retelling, const Catalogue& catalogue) {
  std::vector<PlacedChange> placed = Placing{retelling, catalogue}.of_calls();
  weigh_what_is_unsure(retelling.report(), placed);
  return placed;
}

}  // namespace drybus::model
