// The interpreter of a device's machine: one event, the first row that it fits, what that row does, where it leads.
#pragma once

#include <array>
#include <cassert>

#include "model/devices/device.h"
#include "model/family/machine.h"

namespace drybus::model {

/// Which rows a reaction took, in order. One reaction takes one row for each event that its stimulus comes to.
class RowsTaken {
 public:
  void add(std::uint16_t row) {
    if (count_ < rows_.size()) rows_[count_++] = row;
  }
  [[nodiscard]] const std::uint16_t* begin() const { return rows_.data(); }
  [[nodiscard]] const std::uint16_t* end() const { return rows_.data() + count_; }

 private:
  /// Sixteen buttons can go down at once, each with an event, after the events of one that came up.
  std::array<std::uint16_t, max_buttons + 4> rows_{};
  std::size_t count_ = 0;
};

template <class Device>
bool fits(const Machine& machine, const Device& device, const Machine::Compiled& row) {
  for (const Guard& guard : machine.guards(row)) {
    if (device.holds(guard.condition) != guard.holds) return false;
  }
  return true;
}

/// Takes the first row of `event` whose conditions hold, and says whether there was one. The device has a state with `mode`
/// and `stage`, knows whether a condition `holds`, can `perform` an action, and is told which event is `taken` and that its
/// mode `changed`.
template <class Device>
bool take_row(const Machine& machine, const Device& device, Event event, RowsTaken* taken = nullptr) {
  const StateIndex from = machine.state_of(device.state.mode, device.state.stage);
  for (const Machine::Compiled& row : machine.candidates(from, event)) {
    if (!fits(machine, device, row)) continue;
    if (taken != nullptr) taken->add(row.row);
    device.taken(event);
    for (const Action& action : machine.actions(row)) device.perform(action);
    if (row.to != same_state) go_to(machine, device, from, row.to, event);
    return true;
  }
  return false;
}

template <class Device>
void go_to(const Machine& machine, const Device& device, StateIndex from, StateIndex to, Event event) {
  const Mode before = device.state.mode;
  device.state.mode = machine.states[to].mode;
  device.state.stage = machine.stage_of(to);
  if (device.state.mode != before) device.changed(event);
  for (const Action& action : machine.states[from].exit) device.perform(action);
  for (const Action& action : machine.states[to].entry) device.perform(action);
}

/// Why a mode changed, as far as the event says.
constexpr ModeReason reason_of(Event event) {
  switch (event) {
    case Event::gesture:
    case Event::power_on:  // only a gesture with the supply leads to another mode when it comes on
      return ModeReason::gesture;
    case Event::time_out:
    case Event::beacon:
    case Event::ask:
    case Event::confirm:
    case Event::count:
      return ModeReason::time_out;
    case Event::any_button:
    case Event::next:
    case Event::previous:
    case Event::identify:
    case Event::assign:
    case Event::leave:
    case Event::command:
    case Event::press:
    case Event::tap:
      return ModeReason::button;
    case Event::heard_beacon:
    case Event::heard_left:
    case Event::heard_identify:
    case Event::heard_assign:
    case Event::heard_on:
    case Event::heard_off:
    case Event::heard_recall:
    case Event::heard_store:
    case Event::heard_raise:
    case Event::heard_lower:
    case Event::heard_stop:
    case Event::heard_ask:
    case Event::heard_anything:
      return ModeReason::assigned;
  }
  return ModeReason::button;
}

/// The event of a telegram's kind.
constexpr Event heard(TelegramKind kind) {
  return static_cast<Event>(static_cast<int>(Event::heard_beacon) + static_cast<int>(kind) - 1);
}
static_assert(heard(TelegramKind::beacon) == Event::heard_beacon && heard(TelegramKind::ask) == Event::heard_ask);

}  // namespace drybus::model
