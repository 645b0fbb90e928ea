// Buttons under fingers, and until their contacts rest: a part of Simulation.
#include <algorithm>

#include "model/world/installer.h"
#include "model/world/simulation.h"

namespace drybus::model {

int Simulation::fingers_on(DeviceId device, Button button) const {
  int fingers = 0;
  // A world may go on in a scenario that lacks somebody who has been there.
  const std::size_t people = std::min(world_.people.size(), scenario_.people.size());
  for (std::size_t i = 0; i < people; ++i) {
    const PersonState& person = world_.people[i];
    if (!is_holding(person) || person.step >= scenario_.people[i].script.size()) continue;
    const Step& step = scenario_.people[i].script[person.step];
    if (step.device == device && (step.buttons & only(button)) != 0) ++fingers;
  }
  return fingers;
}

void Simulation::set_contact(DeviceId device, Button button, bool closed, sim::EntryId cause) {
  const bool alone = world_.people.size() < 2;
  if (!closed && !alone && fingers_on(device, button) > 1) return;
  move_contact(device, button, closed, cause);
}

void Simulation::move_contact(DeviceId device, Button button, bool closed, sim::EntryId cause) {
  DeviceState& state = world_.devices[device];
  const Buttons before = state.contacts;
  const auto after = static_cast<Buttons>(closed ? before | only(button) : before & ~only(button));
  state.contacts = static_cast<Buttons>(after | state.stuck);
  if (state.contacts == before) return;
  const sim::EntryId entry = note(What::contact, device, button, closed ? 1 : 0, cause);
  if (state.powered == 0) return;
  Stimulus stimulus;
  stimulus.kind = Stimulus::Kind::contacts;
  stimulus.button = button;
  stimulus.closed = closed;
  react_to(device, stimulus, entry);
}

void Simulation::set_stuck(DeviceId device, Button button, bool stuck, sim::EntryId cause) {
  DeviceState& state = world_.devices[device];
  state.stuck = static_cast<Buttons>(stuck ? state.stuck | only(button) : state.stuck & ~only(button));
  const sim::EntryId entry = note(What::stuck, device, button, stuck ? 1 : 0, cause);
  move_contact(device, button, stuck || fingers_on(device, button) > 0, entry);
}

/// What was to be read again before a power cut.
void Simulation::forget_settling(DeviceId device) {
  std::vector<sim::EventQueue::Handle> pending;
  world_.queue.for_each(
      [&](sim::Instant, std::uint64_t, const sim::Event& event, sim::EventQueue::Handle handle) {
        if (event.kind == static_cast<std::uint16_t>(Happening::settled) && event.who == device)
          pending.push_back(handle);
      });
  for (const sim::EventQueue::Handle handle : pending) world_.queue.cancel(handle);
}

}  // namespace drybus::model
