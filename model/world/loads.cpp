// How loads get from one level to another, and what they show meanwhile: a part of Simulation.
#include "model/world/simulation.h"

namespace drybus::model {

sim::EntryId Simulation::note_level(DeviceId device, Level from, Level to, sim::Duration duration,
                                    sim::EntryId cause) {
  return note(What::level, device, from | static_cast<std::uint32_t>(to) << 16,
              static_cast<std::uint64_t>(duration.count()), cause);
}

void Simulation::fade(DeviceId device, Level level, sim::Duration duration, sim::EntryId cause) {
  LoadState& load = this->load(device);
  if (load.dead != 0) return;
  const Level shown = load.at(world_.now);
  Level from = load.beneath(world_.now);
  const bool interrupted = load.arrival != sim::EventQueue::none;
  if (interrupted) world_.queue.cancel(load.arrival);
  load = {};
  load.from = load.to = level;
  if (duration <= sim::Duration::zero()) from = shown;  // nobody sees where it comes from
  if (shown != from) note_level(device, shown, from, sim::Duration::zero(), cause);
  if (from == level) {
    if (interrupted)
      note(What::level_reached, device, level, 0, cause);  // else the record's fade would go on
    return;
  }
  const sim::EntryId entry = note_level(device, from, level, duration, cause);
  if (duration <= sim::Duration::zero()) return;
  load.begin = world_.now;
  load.duration = duration;
  load.from = from;
  load.arrival = world_.queue.push(world_.now + duration,
                                   {static_cast<std::uint16_t>(Happening::faded), 0, device, entry});
}

void Simulation::arrive(DeviceId device, sim::EntryId cause) {
  LoadState& load = this->load(device);
  const Level level = load.to;
  const Level flash = load.flash;
  load = {};
  load.from = load.to = level;
  load.flash = flash;
  if (flash == 0) note(What::level_reached, device, level, 0, cause);  // else it shows when the flash is over
}

/// What is left of a fade, from here on; it arrives when it would have arrived.
void Simulation::begin_rest_of_fade(LoadState& load) {
  load.from = load.beneath(world_.now);
  load.begin = world_.now;
  load.duration = world_.queue.due(load.arrival) - world_.now;
}

void Simulation::flash(DeviceId device, Level level, sim::EntryId cause) {
  LoadState& load = this->load(device);
  if (load.dead != 0) return;
  const Level shown = load.at(world_.now);
  if (load.arrival != sim::EventQueue::none) begin_rest_of_fade(load);
  load.flash = static_cast<Level>(level + 1);
  if (shown != level) note_level(device, shown, level, sim::Duration::zero(), cause);
}

/// What the load was doing beneath goes on as what began it: `cause` is no more than why the flash is over.
void Simulation::end_flash(DeviceId device, sim::EntryId cause) {
  LoadState& load = this->load(device);
  if (load.dead != 0) return;
  const Level shown = load.at(world_.now);
  load.flash = 0;
  const Level from = load.beneath(world_.now);
  if (shown != from) note_level(device, shown, from, sim::Duration::zero(), cause);
  if (load.arrival == sim::EventQueue::none) return;
  const sim::EntryId began = world_.queue[load.arrival].cause;
  const bool is_known = record_ != nullptr && began != sim::no_entry && began <= record_->size();
  begin_rest_of_fade(load);
  note_level(device, from, load.to, load.duration, is_known ? (*record_)[began].cause : sim::no_entry);
}

/// The module knows nothing of it: it goes on as if there were light.
void Simulation::set_load_dead(DeviceId module, bool dead, sim::EntryId cause) {
  if ((load(module).dead != 0) == dead) return;
  if (dead) {
    fade(module, 0, sim::Duration::zero(), cause);
    load(module).dead = 1;
    return;
  }
  load(module).dead = 0;
  fade(module, world_.modules[site().module_index(module)].target, sim::Duration::zero(), cause);
}

}  // namespace drybus::model
