#include "model/iec62386/world.h"

#include <algorithm>

namespace drybus::iec62386 {

namespace {

template <class State>
void add_state(sim::Digest& digest, const State& state) {
  sim::pack_words<sim::in_digest>(state, [&digest](std::uint64_t word) { digest.add(word); });
}

void add_controller(sim::Digest& digest, const Controller& controller) {
  add_state(digest, controller.round.searcher);
  digest.add(static_cast<std::uint64_t>(controller.job) | (std::uint64_t{controller.plugged} << 8U) |
             (static_cast<std::uint64_t>(controller.round.phase) << 16U) |
             (std::uint64_t{controller.round.given} << 24U) | (std::uint64_t{controller.round.found} << 32U));
  digest.add(controller.round.taken);
  digest.add(controller.round.unverified | (std::uint64_t{controller.round.without_number} << 32U));
  digest.add(controller.sends.size() - controller.next);
  for (const RandomAddress known : controller.known) digest.add(std::uint64_t{known});
}

void add_line(sim::Digest& digest, const LineNow& line) {
  digest.add(std::uint64_t{line.supply_on} | (std::uint64_t{line.shorted} << 1U) |
             (std::uint64_t{line.mains_on_it} << 2U) | (std::uint64_t{line.low} << 3U) |
             (std::uint64_t{line.joined_to} << 8U) | (std::uint64_t{line.second_supply_ma} << 32U));
  digest.add(sim::as_number(line.idle_from));
}

}  // namespace

void World::add_to(sim::Digest& digest) const {
  digest.add(sim::as_number(now));
  digest.add(queue.size());
  for (const GearState& state : gear) add_state(digest, state);
  for (const GearSide& side : beside) {
    digest.add(side.random.drawn);
    digest.add(side.delay.drawn);
    digest.add(side.misses | (std::uint64_t{side.kept_groups} << 32U) |
               (std::uint64_t{side.kept_scenes} << 48U));
  }
  for (const Controller& controller : controllers) add_controller(digest, controller);
  for (const sim::Stream& stream : settling) digest.add(stream.drawn);
  for (const LineNow& line : lines) add_line(digest, line);
  for (const PersonNow& person : people) digest.add(person.step | (std::uint64_t{person.place} << 32U));
}

World initial_world(const Scenario& scenario, std::uint64_t seed) {
  const Site& site = scenario.site;
  World world;
  for (const GearSpec& spec : site.gear) {
    GearState state;
    state.memory = spec.memory;
    // A run begins with everything installed and in service, at the level to which the mains brings it.
    state.powered = state.ready = true;
    const Level lit =
        std::min(spec.memory.power_on == mask ? Level{254} : spec.memory.power_on, spec.memory.max_level);
    state.motion = {sim::start_of_run, {}, lit, lit};
    state.memory.last_active = lit == 0 ? spec.memory.max_level : lit;
    state.reset_state = spec.memory == GearMemory{};
    world.gear.push_back(state);
    GearSide side;
    side.timers.fill(sim::EventQueue::none);
    const std::uint32_t owner = sim::stable_name(spec.name);
    side.random = {seed, sim::Purpose::generator, owner, 0};
    side.delay = {seed, sim::Purpose::timing, owner, 0};
    if (spec.former_life) {
      side.kept_groups = spec.memory.groups;
      for (unsigned i = 0; i < scene_count; ++i) {
        if (spec.memory.scenes.at(i) != mask)
          side.kept_scenes = static_cast<std::uint16_t>(side.kept_scenes | (1U << i));
      }
    }
    world.beside.push_back(side);
  }
  for (const ControllerSpec& spec : site.controllers) {
    Controller controller;
    controller.priority = spec.priority;
    controller.round.searcher.all_bytes = spec.all_bytes;
    world.controllers.push_back(controller);
    world.settling.push_back({seed, sim::Purpose::backoff, sim::stable_name(spec.name), 0});
  }
  world.lines.resize(site.lines.size());
  for (const Person& person : scenario.people)
    world.people.push_back({0,
                            person.place,
                            false,
                            false,
                            sim::no_entry,
                            {seed, sim::Purpose::slip, sim::stable_name(person.name), 0}});
  return world;
}

}  // namespace drybus::iec62386
