#include <algorithm>
#include <bit>
#include <cmath>
#include <set>

#include "model/diagnosis/placing.h"
#include "model/diagnosis/retelling_parts.h"
#include "model/diagnosis/unsure.h"

namespace drybus::model {

using namespace std::chrono_literals;

namespace {

/// A button that is let go too early is let go after this much of the time needed.
constexpr double too_early = 0.7;

/// Beyond a time-out by this much.
constexpr sim::Duration beyond = 2s;

/// Spread of the logarithm of durations that are only about right, and of those told as exact; judgement.
constexpr double loose_spread = 0.3;

constexpr double told_spread = 0.15;

/// Between two presses in one place people are called away so much more seldom than on a way or a wait; judgement.
constexpr double interrupted_share = 0.25;

/// Of those who put a second module in setup, so many mean to, and do not do it again; judgement.
constexpr double both_at_once = 0.4;

/// Of two modules the one in the same place is taken for the other so much more often.
constexpr double same_place_weight = 20;

double upper_tail(double sigmas) {
  return 0.5 * std::erfc(sigmas / std::sqrt(2.0));
}

}  // namespace

std::vector<PlacedChange> Placing::all() {
  for (step_ = 0; step_ < script_.size(); ++step_) place_slips();
  place_start_slips();
  for (std::size_t i = 0; i < site_.device_count(); ++i) place_device_faults(static_cast<DeviceId>(i));
  place_link_faults();
  place_neighbours();
  return std::move(out_);
}

std::vector<PlacedChange> Placing::of_rooms() {
  for (std::size_t i = 0; i < site_.places.size(); ++i) place_breaker(static_cast<PlaceId>(i));
  return std::move(out_);
}

// --- what is known of the run as told ---

void Placing::find_standing() {
  PlaceId at = believed_.people.front().place;
  for (const Step& step : script_) {
    standing_.push_back(at);
    at = place_for(site_, step).value_or(at);
  }
}

void Placing::find_positions() {
  std::set<std::uint32_t> positions;
  std::set<std::uint32_t> looks;
  for (const Seen& seen : report_.seen)
    looks.insert(seen.after_step ? *seen.after_step + 1 : last_step() + 1);
  for (std::uint32_t i = 1; i < script_.size(); ++i) {
    if (is_assign(script_[i]) && retelling_.before_step(i).devices[script_[i].device].mode == Mode::setup)
      positions.insert(i);
  }
  for (const std::uint32_t look : looks) {
    // Before what was pressed for it, and just before it.
    std::uint32_t press = look;
    while (press > 0 && !(press < script_.size() && is_act(script_[press]))) --press;
    if (press > 0) positions.insert(press);
    if (look > 0 && look <= last_step()) positions.insert(look);
  }
  constexpr std::size_t most = 80;
  std::vector<std::uint32_t> all(positions.begin(), positions.end());
  for (std::size_t i = 0; i < std::min(most, all.size()); ++i)
    positions_.push_back(all[i * all.size() / std::min(most, all.size())]);
}

std::uint32_t Placing::last_step() const {
  return script_.empty() ? 0 : static_cast<std::uint32_t>(script_.size() - 1);
}

bool Placing::is_module(DeviceId device) const {
  return device != no_device && !site_.is_plate(device);
}

bool Placing::is_gesture(const Step& of) const {
  return of.kind == StepKind::hold && of.buttons == site_.setup_gesture(of.device) &&
         of.duration >= site_.setup_hold(of.device);
}

bool Placing::is_assign(const Step& of) const {
  return is_act(of) && site_.is_plate(of.device) && of.buttons == only(site_.plate_family(of.device).assign);
}

// --- adding ---

PlacedChange& Placing::add(const PlacedCause& placed, double with_chance, Changes changes) {
  PlacedChange each;
  each.placed = placed;
  each.chance = std::clamp(with_chance, 1e-9, 0.5);
  each.changes = std::move(changes);
  if (is_module(each.placed.device)) {
    each.touches.push_back(each.placed.device);
  } else {
    each.traffic = true;
  }
  if (is_module(each.placed.other)) each.touches.push_back(each.placed.other);
  const bool of_a_plate = each.traffic;
  // What a module that asks does, or leaves, decides which channel the next one is answered with.
  for (const DeviceId module : each.touches) each.traffic = each.traffic || asks_for_itself(site_, module);
  if (of_a_plate && each.placed.step == step_ && is_slip_of_a_press(each.placed)) limit_to_setup(each);
  out_.push_back(std::move(each));
  return out_.back();
}

double Placing::covers(const std::optional<std::uint32_t>& at, std::size_t moments) const {
  if (!at) return 1;
  const auto later = static_cast<double>(std::max<std::size_t>(1, moments - 1));
  return std::min(1.0, later / static_cast<double>(std::max<std::size_t>(1, script_.size())));
}

// --- how far a slip at a plate in setup can reach ---

bool Placing::is_slip_of_a_press(const PlacedCause& placed) const {
  return placed.device != no_device && !is_fault(placed.cause) && step_ < script_.size() && is_act(step());
}

bool Placing::in_setup_before(DeviceId device, std::uint32_t index) const {
  return retelling_.before_step(index).devices[device].mode == Mode::setup;
}

void Placing::limit_to_setup(PlacedChange& change) const {
  const DeviceId plate = change.placed.device;
  const auto steps = static_cast<std::uint32_t>(script_.size());
  std::uint32_t at = step_ + 1;
  while (at < steps && in_setup_before(plate, at)) ++at;
  while (at < steps && !(is_act(script_[at]) && script_[at].device == plate)) ++at;
  if (at >= steps || !is_gesture(script_[at])) return;
  ++at;
  while (at < steps && in_setup_before(plate, at)) ++at;
  if (at >= steps) return;
  change.until = at;
  for (const DeviceId module : our_modules()) {
    bool was = false;
    for (std::uint32_t i = step_; i <= at && !was; ++i) was = in_setup_before(module, i);
    if (was) change.touches.push_back(module);
  }
}

PlacedCause Placing::placed_here(Mishap cause) const {
  PlacedCause placed;
  placed.cause = cause;
  placed.device = step().device;
  placed.step = step_;
  placed.buttons = step().buttons;
  placed.duration = step().duration;
  return placed;
}

Changes Placing::instead(Step other) const {
  return {change::Insert{here(), {std::move(other)}}, change::Leave{here()}};
}

// --- slips ---

void Placing::place_slips() {
  if (is_act(step())) {
    place_forgotten();
    place_repeated();
    place_early();
    site_.is_plate(step().device) ? place_wrong_buttons() : place_wrong_modules();
    if (is_assign(step())) place_at_assign();
    if (site_.is_plate(step().device)) place_lost_in_test();
  }
  if (step().kind == StepKind::switches) {
    place_forgotten();
    place_wrong_switches_in_step();
  }
  place_times();
}

void Placing::place_repeated() {
  if (step().kind != StepKind::press) return;
  // Put in before, so that whoever looked after the press saw what both of them did.
  add(placed_here(Mishap::repeated), chance(Mishap::repeated), {change::Insert{here(), {step()}}});
  Step bouncing = step();
  bouncing.bounce = site_.family.debounce * 3 / 2 + 3ms;
  if (bouncing.bounce > bouncing.duration) return;
  add(placed_here(Mishap::bounced), chance(Mishap::bounced), instead(bouncing));
}

void Placing::place_early() {
  if (!is_gesture(step())) return;
  PlacedCause placed = placed_here(Mishap::let_go_early);
  const auto needed = static_cast<double>(site_.setup_hold(step().device).count());
  placed.duration = std::chrono::round<std::chrono::milliseconds>(
      sim::Duration{static_cast<std::int64_t>(needed * too_early)});
  add(placed, chance(Mishap::let_go_early), {change::Last{here(), placed.duration}});
}

void Placing::place_wrong_buttons() {
  if (std::popcount(step().buttons) != 1) return;
  const std::size_t buttons =
      site_.is_plate(step().device) ? site_.plate_family(step().device).buttons.size() : 1;
  for (std::size_t i = 0; i < buttons; ++i) {
    Step other = step();
    other.buttons = only(static_cast<Button>(i));
    if (other.buttons == step().buttons) continue;
    PlacedCause placed = placed_here(Mishap::wrong_button);
    placed.buttons = other.buttons;
    add(placed, chance(Mishap::wrong_button) / static_cast<double>(buttons - 1), instead(other));
  }
}

double Placing::likeness(DeviceId a, DeviceId b) const {
  return site_.place(a) == site_.place(b) ? same_place_weight : 1;
}

void Placing::place_wrong_modules() {
  const DeviceId right = step().device;
  double all = 0;
  for (const DeviceId other : our_modules()) all += other == right ? 0 : likeness(other, right);
  for (const DeviceId other : our_modules()) {
    if (other == right) continue;
    const double share = likeness(other, right) / all;
    Step taken = step();
    taken.device = other;
    PlacedCause placed = placed_here(Mishap::wrong_module);
    placed.other = other;
    add(placed, chance(Mishap::wrong_module) * share, instead(taken));
    if (!is_gesture(step())) continue;
    placed.cause = Mishap::second_module;
    PlacedChange& second =
        add(placed, chance(Mishap::second_module) * share, {change::Insert{here(), {taken}}});
    second.touches = {other};
    place_both_at_once(other, share);
  }
}

/// Who puts two in setup at once, to save a way, does not do it again when it is the other's turn.
void Placing::place_both_at_once(DeviceId other, double share) {
  for (std::uint32_t later = step_ + 1; later < script_.size(); ++later) {
    if (!is_gesture(script_[later]) || script_[later].device != other) continue;
    Step taken = step();
    taken.device = other;
    PlacedCause placed = placed_here(Mishap::second_module);
    placed.other = other;
    PlacedChange& both = add(placed, chance(Mishap::second_module) * both_at_once * share,
                             {change::Insert{here(), {taken}}, change::Leave{{0, later}}});
    both.touches = {other};
    return;
  }
}

std::vector<DeviceId> Placing::our_modules() const {
  std::vector<DeviceId> modules;
  for (std::size_t i = 0; i < site_.modules.size(); ++i) {
    if (!site_.modules[i].neighbour) modules.push_back(site_.module_id(i));
  }
  return modules;
}

// --- telegrams lost and writes cut short ---

void Placing::place_at_assign() {
  const World& before = retelling_.before_step(step_);
  for (const DeviceId module : our_modules()) {
    if (before.devices[module].mode != Mode::setup) continue;
    add_power_cut(module, step_, chance(Mishap::power_cut));
    place_lost(module, chance(Mishap::telegram_lost));
    place_write_lost(module);
  }
  add_power_cut(no_device, step_, chance(Mishap::power_cut) / static_cast<double>(1 + positions_.size()));
}

void Placing::place_lost(DeviceId module, double with_chance) {
  Step deaf;
  deaf.kind = StepKind::fault;
  deaf.fault.kind = FaultKind::deaf;
  deaf.fault.device = module;
  deaf.fault.count = 1;
  PlacedCause placed = placed_here(Mishap::telegram_lost);
  placed.device = module;
  add(placed, with_chance, {change::Insert{here(), {deaf}}});
}

void Placing::place_lost_in_test() {
  if (is_assign(step()) && retelling_.before_step(step_).devices[step().device].mode == Mode::setup) return;
  std::set<DeviceId> looked_at;
  for (const Seen& seen : report_.seen) {
    const std::uint32_t after = seen.after_step.value_or(static_cast<std::uint32_t>(script_.size()));
    if (is_module(seen.device) && after >= step_ && nothing_sent_between(step_ + 1, after))
      looked_at.insert(seen.device);
  }
  // By the time that somebody calls, another press would have cleared it up.
  for (const DeviceId module : looked_at)
    place_lost(module, chance(Mishap::telegram_lost) * catalogue_.false_alarm);
}

bool Placing::nothing_sent_between(std::uint32_t from, std::uint32_t last) const {
  for (std::uint32_t i = from; i <= last && i < script_.size(); ++i) {
    if (is_act(script_[i]) && site_.is_plate(script_[i].device)) return false;
  }
  return true;
}

void Placing::place_write_lost(DeviceId module) {
  const sim::Instant pressed = times_.begins[step_] + walk_before(step_);
  const sim::Duration on_the_bus =
      site_.family.bus.frame_time(encode(Telegram{TelegramKind::assign, 1, 1, 1, 0}));
  Step off;
  off.kind = StepKind::power;
  off.device = module;
  off.on = false;
  off.at = pressed + on_the_bus + site_.module_family(module).store / 2;
  Step on = off;
  on.on = true;
  on.at = *off.at + 1s;
  PlacedCause placed = placed_here(Mishap::write_lost);
  placed.device = module;
  add(placed, chance(Mishap::write_lost), {change::Meanwhile{{off, on}}});
}

sim::Duration Placing::walk_before(std::uint32_t index) const {
  const auto there = place_for(site_, script_[index]);
  return there ? site_.walk(standing_[index], *there) : sim::Duration::zero();
}

// --- how long things took ---

void Placing::place_times() {
  const bool wait = step().kind == StepKind::wait;
  const sim::Duration told = wait ? step().duration : walk_before(step_);
  if (told <= sim::Duration::zero()) return place_interruptions();
  const bool loose = std::binary_search(report_.loose.begin(), report_.loose.end(), step_) || !wait;
  const double spread = loose ? loose_spread : told_spread;
  const sim::Instant begins = times_.begins[step_];
  const sim::Instant ends = begins + told;
  std::set<sim::Duration> tried;
  for (const sim::Instant due : time_outs_pending()) {
    if (due > ends) {
      const sim::Duration really = std::chrono::ceil<std::chrono::seconds>(due - begins + beyond);
      if (tried.insert(really).second) add_time(Mishap::took_longer, told, really, spread, wait);
    } else if (wait && due - beyond > begins) {
      const sim::Duration really = std::chrono::floor<std::chrono::seconds>(due - begins - beyond);
      if (tried.insert(really).second) add_time(Mishap::took_shorter, told, really, spread, wait);
    }
  }
}

/// Between any two presses somebody may be called away. It matters where something waits in setup, and then until that is
/// over: for the first of them, or for all.
void Placing::place_interruptions() {
  if (!is_act(step())) return;
  const World& world = retelling_.before_step(step_);
  std::set<sim::Instant> due;
  for (const DeviceState& device : world.devices) {
    for (const Timer timer : {Timer::time_out, Timer::confirm}) {
      const auto handle = device.timers[static_cast<std::size_t>(timer)];
      if (device.mode == Mode::setup && handle != sim::EventQueue::none) due.insert(world.queue.due(handle));
    }
  }
  if (due.empty()) return;
  const double share = interrupted_share / (*due.begin() == *due.rbegin() ? 1 : 2);
  for (const sim::Instant until : std::set{*due.begin(), *due.rbegin()}) {
    PlacedCause placed = placed_here(Mishap::took_longer);
    placed.device = no_device;
    placed.was_interrupted = true;
    placed.duration = std::chrono::ceil<std::chrono::seconds>(until - times_.begins[step_] + beyond);
    if (placed.duration <= sim::Duration::zero()) continue;
    Step away;
    away.kind = StepKind::wait;
    away.duration = placed.duration;
    add(placed, chance(Mishap::took_longer) * share, {change::Insert{here(), {away}}});
  }
}

std::set<sim::Instant> Placing::time_outs_pending() const {
  const World& world = retelling_.before_step(step_);
  const World& after = retelling_.before_step(step_ + 1);
  std::set<sim::Instant> due;
  for (const World* each : {&world, &after}) {
    for (const DeviceState& device : each->devices) {
      for (const Timer timer : {Timer::time_out, Timer::sleep, Timer::confirm, Timer::count}) {
        const auto handle = device.timers[static_cast<std::size_t>(timer)];
        if (handle != sim::EventQueue::none && each->queue.due(handle) > times_.begins[step_]) {
          due.insert(std::chrono::round<std::chrono::seconds>(each->queue.due(handle)));
        }
      }
    }
  }
  while (due.size() > 12) due.erase(std::prev(due.end()));
  return due;
}

void Placing::add_time(Mishap cause, sim::Duration told, sim::Duration really, double spread, bool wait) {
  const double ratio = static_cast<double>(really.count()) / static_cast<double>(told.count());
  const double by_spread = upper_tail(std::abs(std::log(ratio)) / spread);
  PlacedCause placed = placed_here(cause);
  placed.duration = really;
  placed.device = no_device;
  Changes changes;
  if (wait) {
    changes.push_back(change::Last{here(), really});
  } else {
    Step dawdle;
    dawdle.kind = StepKind::wait;
    dawdle.duration = really - told;
    changes.push_back(change::Insert{here(), {dawdle}});
  }
  // Minutes are lost easily; whoever is away for an hour remembers it.
  const double more = std::max(0.0, sim::seconds(really) - sim::seconds(told)) / 60;
  const double slip = chance(cause) / ((1 + more / 10) * (1 + more / 10));
  add(placed, std::max(by_spread, slip), std::move(changes));
}

std::vector<PlacedChange> place_causes(const Retelling& retelling, const Catalogue& catalogue) {
  std::vector<PlacedChange> placed = Placing{retelling, catalogue}.all();
  weigh_what_is_unsure(retelling.report(), placed);
  return placed;
}

std::vector<PlacedChange> place_causes_of_rooms(const Retelling& retelling, const Catalogue& catalogue) {
  return Placing{retelling, catalogue}.of_rooms();
}

}  // namespace drybus::model
