#include "model/firmware/outside.h"

#include <algorithm>
#include <cstring>

#include "model/world/world.h"

namespace drybus::model {

namespace {

using Kind = OutsideAct::Kind;
using NextStep = std::uint64_t;  ///< which step comes next, at the very end of World::firmware

NextStep place_in(const World& world) {
  NextStep place = 0;
  std::memcpy(&place, world.firmware.data() + world.firmware.size() - sizeof place, sizeof place);
  return place;
}

void set_place(World& world, NextStep place) {
  std::memcpy(world.firmware.data() + world.firmware.size() - sizeof place, &place, sizeof place);
}

void tell_mode(const OutsideAct& act, PlateState* plate, ModuleState* module, Effects& effects) {
  if (plate != nullptr) {
    plate->mode = act.mode;
    plate->channel = 0;
  } else {
    module->mode = act.mode;
  }
  effects.tell(Told::mode, static_cast<std::uint16_t>(act.mode), static_cast<std::uint32_t>(act.reason));
}

void tell_stored(const OutsideAct& act, ModuleState& module, Effects& effects) {
  module.memory.address = act.address;
  if (module.memory.power_up != act.power_up)
    effects.tell(Told::power_up, static_cast<std::uint16_t>(act.power_up));
  module.memory.power_up = act.power_up;
  effects.tell(Told::stored);
}

void carry_out(const OutsideAct& act, PlateState* plate, ModuleState* module, Effects& effects) {
  switch (act.kind) {
    case Kind::send:
      return effects.send(act.telegram);
    case Kind::show:
      return effects.show(act.pattern);
    case Kind::level:
      return effects.fade(act.level, act.within);
    case Kind::mode:
      return tell_mode(act, plate, module, effects);
    case Kind::stored:
      return tell_stored(act, *module, effects);
  }
}

/// No act asks for more, and setting the alarm takes one.
constexpr std::size_t most_of_an_act = 2;

}  // namespace

std::string why_not(const Site& site, DeviceId device, const OutsideAct& act) {
  if (act.kind == Kind::level && site.is_plate(device)) return "a plate has no load";
  if (act.kind == Kind::stored && site.is_plate(device)) return "a plate stores no address; it has switches";
  if (act.kind == Kind::level && act.level > full_level) return "no load goes above 100 %";
  return "";
}

void OutsideLogic::schedule_next(World& world, sim::EntryId cause) const {
  const NextStep next = place_in(world);
  if (next >= steps_.size()) return;
  world.devices[device_].timers[static_cast<std::size_t>(hour)] =
      world.queue.push(steps_[next].at, {static_cast<std::uint16_t>(Happening::timer),
                                         static_cast<std::uint16_t>(hour), device_, cause});
}

// --- reacting ---

void OutsideLogic::plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state, Effects& effects) {
  if (turn.device == device_) return react_to(turn, stimulus, &state, nullptr, effects);
  if (others_) return others_->plate(turn, stimulus, state, effects);
  react(turn.family(), stimulus, state, effects);
}

void OutsideLogic::module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
                          Effects& effects) {
  if (turn.device == device_) return react_to(turn, stimulus, nullptr, &state, effects);
  if (others_) return others_->module(turn, stimulus, state, effects);
  react(turn.family(), stimulus, state, effects);
}

void OutsideLogic::react_to(const DeviceTurn& turn, const Stimulus& stimulus, PlateState* plate,
                            ModuleState* module, Effects& effects) {
  if (stimulus.kind == Stimulus::Kind::power_on) skip_what_is_over(turn.world);
  if (stimulus.kind == Stimulus::Kind::timer) {
    NextStep next = place_in(turn.world);
    for (; next < steps_.size() && steps_[next].at <= turn.world.now &&
           effects.size() + most_of_an_act < Effects::capacity;
         ++next) {
      carry_out(steps_[next].act, plate, module, effects);
    }
    set_place(turn.world, next);
  }
  const bool goes_on =
      stimulus.kind == Stimulus::Kind::power_on || stimulus.kind == Stimulus::Kind::timer;
  if (goes_on) set_alarm(turn.world, effects);
  if (listener_ && stimulus.kind != Stimulus::Kind::timer) listener_(stimulus);
}

/// What it would have done while its power was off is not done.
void OutsideLogic::skip_what_is_over(World& world) const {
  NextStep next = place_in(world);
  while (next < steps_.size() && steps_[next].at <= world.now) ++next;
  set_place(world, next);
}

void OutsideLogic::set_alarm(const World& world, Effects& effects) const {
  const NextStep next = place_in(world);
  if (next >= steps_.size()) return;
  // Many at one moment: the rest comes a nanosecond later.
  effects.start(hour, std::max(steps_[next].at - world.now, sim::Duration{1}));
}

// --- power ---

void OutsideLogic::plate_lost_power(const DeviceTurn& turn, const PlateState& before, PlateState& left) {
  if (turn.device != device_ && others_) others_->plate_lost_power(turn, before, left);
}

void OutsideLogic::module_lost_power(const DeviceTurn& turn, const ModuleState& before, ModuleState& left) {
  if (turn.device != device_ && others_) others_->module_lost_power(turn, before, left);
}

// --- the world ---

void OutsideLogic::prepare(const Site& site, World& world) {
  if (others_) {
    others_->prepare(site, world);
  } else {
    world.firmware.assign(site.device_count() * sizeof(NextStep), std::byte{});
  }
  world.firmware.resize(world.firmware.size() + sizeof(NextStep));
}

bool OutsideLogic::hears_damaged(bool plate) const {
  return others_ && others_->hears_damaged(plate);
}

std::size_t OutsideLogic::bytes_per_device(bool plate) const {
  return others_ ? others_->bytes_per_device(plate) : sizeof(NextStep);  // so that nothing is taken for its like
}

std::shared_ptr<OutsideLogic> outside_of(const Site& site) {
  return std::dynamic_pointer_cast<OutsideLogic>(site.logic);
}

}  // namespace drybus::model
