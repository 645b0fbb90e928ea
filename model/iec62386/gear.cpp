#include "model/iec62386/gear.h"

#include <utility>

#include "model/iec62386/gear_reaction.h"

namespace drybus::iec62386 {

// --- levels ---

sim::Duration Reaction::fade() const {
  return memory().fade_time != 0 ? fade_time(memory().fade_time) : extended_fade_time(memory().extended_fade);
}

void Reaction::go_to(Level wanted, sim::Duration lasts) {
  const Level to = wanted == 0 ? wanted : std::clamp(wanted, least(), most());
  state.limit_error = to != wanted;
  // What the lamp cannot do at all is nobody's setting.
  if (to < wanted || (to > wanted && memory().min_level > kind.physical_minimum)) effects.add(Did::clipped);
  move_to(to, lasts);
}

void Reaction::move_to(Level to, sim::Duration lasts) {
  const Level from = level();
  // A lamp that lights up fades from its least level.
  const Level begin = from == 0 && lasts > 0ns ? std::min(least(), to) : from;
  state.motion = {now, begin == to ? 0ns : lasts, begin, to};
  if (to != 0) memory().last_active = to;
  state.power_cycle_seen = false;
  state.reset_state = state.reset_state && to == 254;
  stop(Timer::power_on);
  effects.add(Did::level);
}

void Reaction::arc_level(Level wanted) {
  if (wanted != mask) return go_to(wanted, fade());
  if (state.motion.over(now)) return effects.add(Did::mask_ignored);
  move_to(level(), 0ns);
}

void Reaction::change_by(int steps, sim::Duration lasts) {
  if (level() == 0) return;
  move_to(static_cast<Level>(std::clamp(level() + steps, int{least()}, int{most()})), lasts);
}

void Reaction::up_or_down(int way) {
  const sim::Duration step = step_time(memory().fade_rate);
  change_by(way * static_cast<int>((up_down_lasts + step / 2) / step), up_down_lasts);
}

void Reaction::scene(std::uint8_t number) {
  const Level wanted = memory().scenes[number];
  if (wanted == mask) return;
  effects.add(Did::scene);
  go_to(wanted, fade());
}

// --- settings ---

void Reaction::changed(Did what) {
  state.reset_state = false;
  effects.add(what);
}

void Reaction::take(std::uint8_t& setting, std::uint8_t value) {
  setting = value;
  changed(Did::setting_changed);
}

void Reaction::set_scene(std::uint8_t number, Level value) {
  memory().scenes[number] = value;
  changed(Did::scene_changed);
}

void Reaction::set_group(std::uint8_t number, bool in) {
  const auto one = static_cast<std::uint16_t>(1U << number);
  memory().groups = static_cast<std::uint16_t>(in ? memory().groups | one : memory().groups & ~one);
  changed(Did::group_changed);
}

void Reaction::set_short(std::uint8_t coded, Did what) {
  const auto address = short_of(coded);
  if (!address) return;
  memory().short_address = *address;
  effects.add(what);
}

/// All as from the box, but the short address; deaf until it is done.
void Reaction::reset() {
  const ShortAddress kept = memory().short_address;
  const Level last = memory().last_level;
  memory() = GearMemory{};
  memory().short_address = kept;
  memory().last_level = last;
  state.search = last_random;
  move_to(most(), 0ns);
  state.limit_error = false;
  state.reset_state = true;
  state.ready = false;
  start(Timer::reset);
  effects.add(Did::reset);
}

// --- addressing ---

void Reaction::initialise(std::uint8_t which) {
  const bool meant = which == 0 || (which == 0xFF ? memory().short_address == no_short
                                                  : short_of(which) == memory().short_address);
  if (!meant) return;
  state.initialised = true;
  state.withdrawn = false;
  start(Timer::initialise);
  effects.add(Did::initialised);
}

void Reaction::end_initialised() {
  if (!state.initialised) return;
  state.initialised = state.withdrawn = false;
  stop(Timer::initialise);
  effects.add(Did::init_ended);
}

// --- answers ---

std::uint8_t Reaction::status() const {
  const auto flag = [](bool so, unsigned at) { return so ? 1U << at : 0U; };
  return static_cast<std::uint8_t>(flag(state.lamp_failed, 1) | flag(light(state, now) != 0, 2) |
                                   flag(state.limit_error, 3) | flag(!state.motion.over(now), 4) |
                                   flag(state.reset_state, 5) | flag(memory().short_address == no_short, 6) |
                                   flag(state.power_cycle_seen, 7));
}

namespace {

/// The first of two is remembered.
bool came_twice(Reaction& reaction, const BitFrame& frame) {
  GearState& state = reaction.state;
  if (state.waiting_for == frame.data) {
    state.waiting_for = 0;
    reaction.stop(Timer::twice);
    return true;
  }
  state.waiting_for = static_cast<std::uint16_t>(frame.data);
  reaction.start(Timer::twice);
  reaction.effects.add(Did::twice_begun);
  return false;
}

/// Another frame between, or too late.
void forget_first(Reaction& reaction) {
  reaction.state.waiting_for = 0;
  reaction.stop(Timer::twice);
  reaction.effects.add(Did::twice_missed);
}

void hear(Reaction& reaction, const BitFrame& frame) {
  GearState& state = reaction.state;
  if (frame.bits != 16) return;  // for devices
  const Said said = read(frame);
  const bool meant = said.special || is_meant(state, said.target);
  if (!state.ready) {
    if (meant && state.powered && !said.special) reaction.effects.add(Did::not_ready);
    return;
  }
  const std::uint8_t enabled = std::exchange(state.enabled_type, std::uint8_t{255});
  if (state.waiting_for != 0 && state.waiting_for != frame.data) forget_first(reaction);
  if (!meant || said.command == nullptr) return;
  if (said.command->is(twice) && !came_twice(reaction, frame)) return;
  if (!said.command->done()) return;
  if (said.command->op == Op::of_type) {
    if (enabled != reaction.kind.type) reaction.effects.add(Did::wrong_type);
    return;
  }
  if (!said.special && said.target.kind == Target::Kind::group) reaction.effects.add(Did::group_followed);
  carry_out(reaction, said);
}

void mains_on(Reaction& reaction) {
  GearState& state = reaction.state;
  if (state.dead || state.powered) return;
  state.powered = true;
  state.power_cycle_seen = true;
  reaction.start(Timer::ready);
  reaction.start(Timer::power_on);
}

/// What does not last goes; timers stop.
void mains_off(Reaction& reaction) {
  GearState& state = reaction.state;
  if (!state.powered) return;
  GearState fresh;
  fresh.memory = state.memory;
  fresh.memory.last_level = reaction.level();
  fresh.lamp_failed = state.lamp_failed;
  fresh.dead = state.dead;
  fresh.line_failed = state.line_failed;
  fresh.reset_state = state.reset_state;
  fresh.motion = {reaction.now, 0ns, 0, 0};
  state = fresh;
  for (const Timer timer : sim::all_of<Timer>()) reaction.stop(timer);
}

void to_level_kept(Reaction& reaction, Level wanted, Level last, Did did) {
  if (wanted == mask) wanted = last;
  const bool cycle = reaction.state.power_cycle_seen;
  reaction.move_to(wanted == 0 ? wanted : std::clamp(wanted, reaction.least(), reaction.most()), 0ns);
  reaction.state.power_cycle_seen = cycle;
  reaction.effects.add(did);
}

void run_out(Reaction& reaction, Timer timer) {
  GearState& state = reaction.state;
  switch (timer) {
    case Timer::initialise:
      state.initialised = state.withdrawn = false;
      return reaction.effects.add(Did::init_ran_out);
    case Timer::identify:
      state.identifies = false;
      return reaction.effects.add(Did::identified);
    case Timer::twice:
      state.waiting_for = 0;
      return reaction.effects.add(Did::twice_missed);
    case Timer::ready:
    case Timer::reset:
      state.ready = true;
      return;
    case Timer::power_on:
      return to_level_kept(reaction, state.memory.power_on, state.memory.last_level, Did::power_on_level);
    case Timer::line_failed:
      state.line_failed = true;
      return to_level_kept(reaction, state.memory.system_failure, reaction.level(), Did::failure_level);
  }
}

}  // namespace

sim::Duration runs_for(Timer timer) {
  static const sim::ByEnum<Timer, sim::Duration> all{initialise_lasts, identify_lasts, twice_within,
                                                     ready_after,      reset_takes,    power_on_after,
                                                     line_failed_after};
  return all[timer];
}

bool is_meant(const GearState& state, const Target& target) {
  switch (target.kind) {
    case Target::Kind::all:
      return true;
    case Target::Kind::unaddressed:
      return state.memory.short_address == no_short;
    case Target::Kind::group:
      return ((state.memory.groups >> target.number) & 1U) != 0;
    case Target::Kind::one:
      break;
  }
  return state.memory.short_address == target.number;
}

Level light(const GearState& state, sim::Instant now) {
  return state.powered && !state.lamp_failed ? state.motion.at(now) : Level{0};
}

Effects react(const GearKind& kind, GearState& state, const Stimulus& stimulus) {
  Reaction reaction{kind, state, stimulus.now};
  switch (stimulus.kind) {
    case Stimulus::Kind::frame:
      hear(reaction, stimulus.frame);
      break;
    case Stimulus::Kind::mains_on:
      mains_on(reaction);
      break;
    case Stimulus::Kind::mains_off:
      mains_off(reaction);
      break;
    case Stimulus::Kind::timer:
      run_out(reaction, stimulus.timer);
      break;
    case Stimulus::Kind::line_low:
      if (state.powered) reaction.start(Timer::line_failed);
      break;
    case Stimulus::Kind::line_high:
      state.line_failed = false;
      reaction.stop(Timer::line_failed);
      break;
  }
  return reaction.effects;
}

}  // namespace drybus::iec62386
