// What people do: one step after the other, walking where they have to.
#include <algorithm>
#include <cmath>
#include <utility>

#include "model/iec62386/simulation.h"

namespace drybus::iec62386 {

bool touches_wiring(const Step& step) {
  switch (step.kind) {
    case StepKind::power:
    case StepKind::swap:
    case StepKind::replace:
    case StepKind::fault:
      return true;
    case StepKind::address:
    case StepKind::send:
    case StepKind::press:
    case StepKind::inventory:
    case StepKind::unplug:
    case StepKind::plug:
    case StepKind::wait:
    case StepKind::walk:
    case StepKind::note:
    case StepKind::see:
    case StepKind::expect:
      return false;
  }
  return false;
}

namespace {
/// After each thing that somebody does.
constexpr sim::Duration pause = 300ms;
}  // namespace

/// Where a step is done; none: anywhere.
Index Simulation::place_of(const Step& step) const {
  switch (step.kind) {
    case StepKind::walk:
      return step.place;
    case StepKind::press:
    case StepKind::unplug:
    case StepKind::plug:
      return site_.controllers[step.controller].place;
    case StepKind::swap:
    case StepKind::replace:
      return step.gear.empty() ? no_index : site_.gear[step.gear.front()].place;
    case StepKind::address:
    case StepKind::send:
    case StepKind::inventory:
    case StepKind::power:
    case StepKind::fault:
    case StepKind::wait:
    case StepKind::note:
    case StepKind::see:
    case StepKind::expect:
      return no_index;
  }
  return no_index;
}

/// True when the person has to walk first, and is on the way.
bool Simulation::walk_to(std::uint32_t who, Index place) {
  PersonNow& person = world_.people[who];
  if (place == no_index || place == person.place) return false;
  const sim::Duration way = site_.places[person.place].walk.at(place);
  const sim::EntryId entry = add(What::walked, who, person.entry, person.place, place);
  person.place = place;
  push(way, Kind::person, who, entry);
  return true;
}

void Simulation::person(std::uint32_t who) {
  PersonNow& person = world_.people[who];
  const auto& script = scenario_.people[who].script;
  if (person.step >= script.size() || person.waits) return;
  const Step& step = script[person.step];
  if (step.at && *step.at > world_.now) {
    push(*step.at - world_.now, Kind::person, who, person.entry);
    return;
  }
  if (!person.arrived && walk_to(who, place_of(step))) {
    person.arrived = true;
    return;
  }
  const auto takes = do_step(who, step);
  PersonNow& after = world_.people[who];
  if (!takes) return;
  ++after.step;
  after.arrived = false;
  push(*takes, Kind::person, who, after.entry);
}

std::optional<sim::Duration> Simulation::do_step(std::uint32_t who, const Step& step) {
  PersonNow& person = world_.people[who];
  const sim::EntryId cause = person.entry = add(What::step, who, person.entry, person.step);
  switch (step.kind) {
    case StepKind::address:
    case StepKind::send:
    case StepKind::press:
    case StepKind::inventory: {
      Controller& controller = world_.controllers[step.controller];
      if (controller.job != Controller::Job::none) {
        // Its owner is at work with it: a hand on its buttons changes nothing.
        return pause;
      }
      controller.cause = cause;
      controller.person = static_cast<std::uint16_t>(who);
      const ControllerSpec& spec = site_.controllers[step.controller];
      controller.priority = step.priority != 0 ? step.priority : spec.priority;
      person.waits = true;
      if (step.kind == StepKind::address) {
        controller.begin_addressing(step.address);
      } else if (step.kind == StepKind::inventory) {
        controller.begin_inventory();
      } else {
        controller.begin_frames(step.kind == StepKind::press ? spec.buttons[step.button].sends : step.sends);
      }
      begin_work(step.controller);
      return std::nullopt;
    }
    case StepKind::unplug:
    case StepKind::plug:
      plug(step.controller, step.kind == StepKind::plug, cause);
      return pause;
    case StepKind::power:
      power(step, cause);
      return pause;
    case StepKind::fault:
      fault(step, cause);
      return pause;
    case StepKind::swap:
    case StepKind::replace:
      swap(step, cause);
      return pause;
    case StepKind::wait:
      return step.duration;
    case StepKind::walk:
    case StepKind::note:
      return 0ns;
    case StepKind::see:
    case StepKind::expect:
      look(who, step, cause);
      return 0ns;
  }
  return 0ns;
}

void Simulation::plug(Index index, bool on, sim::EntryId cause) {
  Controller& controller = world_.controllers[index];
  if (controller.plugged == on) return;
  controller.plugged = on;
  const sim::EntryId entry = add(What::plugged, index, cause, on ? 1 : 0);
  const ControllerSpec& spec = site_.controllers[index];
  if (spec.supplies_line) world_.lines[spec.line].supply_on = on;
  if (!on && controller.job != Controller::Job::none) {
    if (controller.due != sim::EventQueue::none)
      world_.queue.cancel(std::exchange(controller.due, sim::EventQueue::none));
    controller.stop();
    job_over(index, 0);
  }
  update_all_lines(entry);
  watch_.state_changed(entry);
}

void Simulation::power(const Step& step, sim::EntryId cause) {
  for (const Index gear : step.gear) {
    if (world_.gear[gear].powered == step.on) continue;
    const sim::EntryId entry = add(What::mains, site_.device_of_gear(gear), cause, step.on ? 1 : 0);
    if (!step.on) world_.beside[gear].before_cut = world_.gear[gear].motion.at(world_.now);
    Stimulus stimulus;
    stimulus.kind = step.on ? Stimulus::Kind::mains_on : Stimulus::Kind::mains_off;
    react_gear(gear, stimulus, entry, no_index);
  }
  for (const Index line : step.lines) world_.lines[line].supply_on = step.on;
  update_all_lines(cause);
  watch_.state_changed(cause);
}

void Simulation::fault(const Step& step, sim::EntryId cause) {
  const Fault& fault = step.fault;
  const bool of_line = fault.kind == FaultKind::shorted || fault.kind == FaultKind::mains ||
                       fault.kind == FaultKind::joined || fault.kind == FaultKind::second_supply;
  const std::uint32_t who = of_line ? site_.device_of_line(fault.first) : site_.device_of_gear(fault.first);
  const sim::EntryId entry =
      add(What::fault, who, cause, static_cast<std::uint32_t>(fault.kind), fault.on ? 1 : 0);
  switch (fault.kind) {
    case FaultKind::shorted:
      world_.lines[fault.first].shorted = fault.on;
      break;
    case FaultKind::mains: {
      world_.lines[fault.first].mains_on_it = fault.on;
      if (!fault.on) break;
      world_.lines[fault.first].supply_on = false;
      for (Index gear = 0; gear < site_.gear.size(); ++gear) {
        if (world_.group(site_.gear[gear].line) != world_.group(fault.first)) continue;
        Stimulus off;
        off.kind = Stimulus::Kind::mains_off;
        world_.gear[gear].dead = true;
        react_gear(gear, off, entry, no_index);
      }
      break;
    }
    case FaultKind::joined: {
      const Index first = std::min(fault.first, fault.second);
      const Index second = std::max(fault.first, fault.second);
      world_.lines[second].joined_to = fault.on ? first : no_index;
      break;
    }
    case FaultKind::second_supply:
      world_.lines[fault.first].second_supply_ma = fault.on ? fault.amount : 0;
      break;
    case FaultKind::lamp:
      world_.gear[fault.first].lamp_failed = fault.on;
      break;
    case FaultKind::holds_low:
      world_.beside[fault.first].holds_low = fault.on;
      break;
    case FaultKind::deaf:
      world_.beside[fault.first].misses = fault.on ? fault.amount : 0;
      break;
  }
  update_all_lines(entry);
  watch_.fault(fault, entry);
  watch_.state_changed(entry);
}

/// Another gear hangs there now: new from the box, or with what it was given elsewhere. `replace` does it for dead ones and
/// lets the supply be put right, too.
void Simulation::swap(const Step& step, sim::EntryId cause) {
  for (const Index gear : step.gear) {
    const sim::EntryId entry = add(What::swapped, site_.device_of_gear(gear), cause);
    Stimulus off;
    off.kind = Stimulus::Kind::mains_off;
    react_gear(gear, off, entry, no_index);
    GearState fresh;
    if (step.memory) fresh.memory = *step.memory;
    fresh.reset_state = !step.memory;
    world_.gear[gear] = fresh;
    GearSide& side = world_.beside[gear];
    side.holds_low = false;
    side.kept_groups = fresh.memory.groups;
    side.kept_scenes = 0;
    for (unsigned i = 0; i < scene_count; ++i) {
      if (fresh.memory.scenes.at(i) != mask)
        side.kept_scenes = static_cast<std::uint16_t>(side.kept_scenes | (1U << i));
    }
    side.before_cut = 254;  // nothing to compare a first light with
    side.programmed_by = entry;
    Stimulus on;
    on.kind = Stimulus::Kind::mains_on;
    react_gear(gear, on, entry, no_index);
    watch_.swapped(gear, entry);
  }
  update_all_lines(cause);
  watch_.state_changed(cause);
}

// --- naming lamps ---

/// Somebody walks to the lamp that shows itself.
void Simulation::begin_naming(Index index) {
  const Controller& controller = world_.controllers[index];
  const std::uint32_t who = controller.person == no_index ? 0 : controller.person;
  PersonNow& person = world_.people[who];
  sim::Duration takes = controller.round.job.each;
  if (spread_ > 0) {
    const double factor = person.pace.lognormal(1, spread_);
    takes = sim::Duration{std::llround(static_cast<double>(takes.count()) * factor)};
  }
  for (std::size_t i = 0; i < site_.gear.size(); ++i) {
    if (!world_.gear[i].identifies ||
        world_.group(site_.gear[i].line) != world_.group(site_.controllers[index].line))
      continue;
    takes += site_.places[person.place].walk.at(site_.gear[i].place);
    person.place = site_.gear[i].place;
    break;
  }
  push(takes, Kind::named, index, controller.cause);
}

void Simulation::name_lamp(std::uint32_t index, sim::EntryId) {
  Controller& controller = world_.controllers[index];
  if (controller.job != Controller::Job::addressing || controller.round.phase != Round::Phase::name) return;
  // Whoever was shown keeps the number that it was found with, if it has no other on the plan.
  ShortAddress wanted = no_short;
  for (std::size_t i = 0; i < site_.gear.size(); ++i) {
    const GearState& state = world_.gear[i];
    const bool shown = state.memory.short_address == controller.round.given && state.powered &&
                       world_.group(site_.gear[i].line) == world_.group(site_.controllers[index].line);
    if (shown && site_.gear[i].intended) {
      wanted = *site_.gear[i].intended;
      break;
    }
  }
  std::vector<Controller::Note> notes;
  controller.name(wanted, notes);
  tell_notes(static_cast<Index>(index), notes);
  go_on(static_cast<Index>(index));
}

}  // namespace drybus::iec62386
