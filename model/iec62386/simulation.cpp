#include "model/iec62386/simulation.h"

namespace drybus::iec62386 {

Simulation::Simulation(const Scenario& scenario, World& world, sim::Record& record,
                       const protocol::RunOptions& options)
    : scenario_(scenario),
      site_(scenario.site),
      world_(world),
      record_(record),
      watch_(scenario, world, record),
      keeps_waves_(options.keeps_waves),
      spread_(options.spread) {
  for (const LineSpec& line : site_.lines) carried_.push_back({line.name, {}, {}});
  begin();
}

void Simulation::begin() {
  const sim::EntryId began = add(What::began, 0, sim::no_entry);
  for (std::uint32_t who = 0; who < scenario_.people.size(); ++who) push(0ns, Kind::person, who, began);
  update_all_lines(began);
  watch_.state_changed(began);
}

bool Simulation::scripts_over() const {
  for (std::size_t i = 0; i < world_.people.size(); ++i) {
    if (world_.people[i].step < scenario_.people[i].script.size() || world_.people[i].waits) return false;
  }
  return true;
}

sim::EntryId Simulation::add(What what, std::uint32_t who, sim::EntryId cause, std::uint32_t a,
                             std::uint64_t b, sim::EntryId because) {
  return record_.add({world_.now, cause, because, static_cast<std::uint16_t>(what), who, a, b});
}

sim::EventQueue::Handle Simulation::push(sim::Duration after, Kind kind, std::uint32_t who,
                                         sim::EntryId cause, std::uint16_t arg) {
  return world_.queue.push(world_.now + after, {static_cast<std::uint16_t>(kind), arg, who, cause});
}

bool Simulation::step() {
  if (world_.queue.empty()) return false;
  const sim::EventQueue::Fired fired = world_.queue.pop();
  world_.now = fired.at;
  const auto who = static_cast<Index>(fired.event.who);
  switch (static_cast<Kind>(fired.event.kind)) {
    case Kind::person:
      person(who);
      break;
    case Kind::try_send:
      world_.controllers[who].due = sim::EventQueue::none;
      try_send(who);
      break;
    case Kind::frames_over:
      frames_over(who);
      break;
    case Kind::answers_over:
      answers_over(who);
      break;
    case Kind::silence:
      silence(who);
      break;
    case Kind::gear_timer:
      gear_timer(who, static_cast<Timer>(fired.event.arg), fired.event.cause);
      break;
    case Kind::named:
      name_lamp(who, fired.event.cause);
      break;
  }
  return true;
}

// --- gear ---

void Simulation::gear_timer(Index gear, Timer timer, sim::EntryId cause) {
  world_.beside[gear].timers.at(static_cast<std::size_t>(timer)) = sim::EventQueue::none;
  Stimulus stimulus;
  stimulus.kind = Stimulus::Kind::timer;
  stimulus.timer = timer;
  react_gear(gear, stimulus, cause, no_index);
}

Effects Simulation::react_gear(Index gear, const Stimulus& stimulus, sim::EntryId cause, Index sender) {
  GearState& state = world_.gear[gear];
  Stimulus now = stimulus;
  now.now = world_.now;
  const Level before = state.motion.at(world_.now);
  const Effects effects = react(site_.gear[gear].kind, state, now);
  if (effects.did == 0 && effects.set == 0 && effects.stop == 0) return effects;
  carry_out(gear, effects, cause, before);
  const sim::EntryId entry = record_deeds(gear, effects, cause, before);
  watch_.gear_did(gear, effects, entry, cause, sender, before);
  return effects;
}

void Simulation::carry_out(Index gear, const Effects& effects, sim::EntryId cause, Level) {
  GearSide& side = world_.beside[gear];
  if (effects.has(Did::wants_random)) draw_random(gear);
  if (effects.has(Did::twice_begun)) side.first_of_two = cause;
  for (const Timer timer : sim::all_of<Timer>()) {
    const auto at = static_cast<std::size_t>(timer);
    const bool set = ((effects.set >> at) & 1U) != 0;
    const bool stop = ((effects.stop >> at) & 1U) != 0;
    sim::EventQueue::Handle& handle = side.timers.at(at);
    if (handle != sim::EventQueue::none && (set || stop)) {
      world_.queue.cancel(handle);
      handle = sim::EventQueue::none;
    }
    if (set) handle = push(runs_for(timer), Kind::gear_timer, gear, cause, static_cast<std::uint16_t>(timer));
  }
}

namespace {

/// What of a deed is worth an entry, and the value that goes with it.
std::optional<std::uint64_t> value_of(const GearState& state, Did did, Level before) {
  switch (did) {
    case Did::compared:
    case Did::twice_begun:
    case Did::dtr0_used:
    case Did::group_followed:
      return std::nullopt;
    case Did::wants_random:
      return state.memory.random;
    case Did::programmed:
      return state.memory.short_address;
    case Did::level:
    case Did::power_on_level:
    case Did::failure_level:
      return state.motion.to | (std::uint64_t{before} << 8U) |
             (static_cast<std::uint64_t>(state.motion.lasts.count()) << 16U);
    case Did::group_changed:
      return state.memory.groups;
    case Did::initialised:
    case Did::init_ended:
    case Did::init_ran_out:
    case Did::withdrawn:
    case Did::clipped:
    case Did::mask_ignored:
    case Did::scene:
    case Did::scene_changed:
    case Did::setting_changed:
    case Did::twice_missed:
    case Did::wrong_type:
    case Did::not_ready:
    case Did::reset:
    case Did::identifies:
    case Did::identified:
      return 0;
  }
  return std::nullopt;
}

}  // namespace

/// The last of the entries; that of the cause when none was worth one.
sim::EntryId Simulation::record_deeds(Index gear, const Effects& effects, sim::EntryId cause, Level before) {
  sim::EntryId last = cause;
  for (const Did did : sim::all_of<Did>()) {
    if (!effects.has(did)) continue;
    // Which level it was tells enough.
    const bool by_itself = effects.has(Did::power_on_level) || effects.has(Did::failure_level);
    if (did == Did::level && by_itself) continue;
    const auto value = value_of(world_.gear[gear], did, before);
    if (value)
      last = add(What::did, site_.device_of_gear(gear), cause, static_cast<std::uint32_t>(did), *value);
  }
  return last;
}

/// Good gear draws from its own stream; a poor generator knows 16 numbers.
void Simulation::draw_random(Index gear) {
  sim::Stream& stream = world_.beside[gear].random;
  if (!site_.gear[gear].poor_random) {
    world_.gear[gear].memory.random = static_cast<RandomAddress>(stream.below(last_random));
    return;
  }
  sim::Stream few{0, sim::Purpose::generator, static_cast<std::uint32_t>(stream.below(16)), 0};
  world_.gear[gear].memory.random = static_cast<RandomAddress>(few.below(last_random));
}

}  // namespace drybus::iec62386
