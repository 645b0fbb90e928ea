#include "model/world/simulation.h"

#include <algorithm>
#include <array>

#include "model/record/said.h"
#include "model/site/ticking.h"
#include "model/world/installer.h"
#include "model/world/medium_words.h"
#include "model/world/partners.h"
#include "sim/clock.h"

namespace drybus::model {

World initial_world(const Scenario& scenario) {
  return initial_world(scenario, scenario.seed);
}

World initial_world(const Scenario& scenario, std::uint64_t seed) {
  const Site& site = scenario.site;
  World world;
  world.seed = seed;
  world.medium = sim::Medium{site.network};
  world.devices.resize(site.device_count());
  for (DeviceState& device : world.devices) device.timers.fill(sim::EventQueue::none);
  for (const PlateSpec& spec : site.plates) {
    PlateState plate;
    plate.site = spec.site;
    plate.zone = spec.zone;
    world.plates.push_back(plate);
  }
  for (const ModuleSpec& spec : site.modules) {
    ModuleState module;
    module.memory = spec.memory;
    world.modules.push_back(module);
  }
  world.loads.resize(site.modules.size());
  for (const Person& person : scenario.people) world.people.push_back({person.place, 0, 0, 0});
  if (site.logic) site.logic->prepare(site, world);
  return world;
}

Simulation::Simulation(const Scenario& scenario, World& world, sim::Record* record)
    : scenario_(scenario), world_(world), record_(record), logic_(scenario.site.logic.get()) {
  if (record_ == nullptr) return;
  mode_entries_.resize(world.devices.size(), sim::no_entry);
  for (const ModuleState& module : world.modules) recorded_addresses_.push_back(module.memory.address);
  // Resuming beside an earlier record: find out again which entries the modes stem from.
  for (sim::EntryId id = 1; id <= record_->size(); ++id) {
    const sim::Entry& entry = (*record_)[id];
    if (what(entry) == What::mode) mode_entries_[entry.who] = id;
  }
}

void Simulation::begin() {
  const sim::EntryId began = note(What::began, 0);
  for (std::size_t i = 0; i < world_.devices.size(); ++i) {
    react_to(static_cast<DeviceId>(i), Stimulus{}, began);
  }
  for (std::size_t i = 0; i < world_.people.size(); ++i) {
    schedule(sim::Duration::zero(), Happening::person, static_cast<std::uint32_t>(i), 0, began);
  }
}

sim::Event Simulation::step() {
  const sim::EventQueue::Fired fired = world_.queue.pop();
  world_.now = fired.at;
  dispatch(fired.event);
  return fired.event;
}

void Simulation::run_until(sim::Instant until) {
  while (world_.queue.next_at() <= until) step();
  world_.now = std::max(world_.now, until);
}

bool Simulation::scripts_done() const {
  return std::all_of(world_.people.begin(), world_.people.end(),
                     [](const PersonState& p) { return p.done != 0; });
}

namespace {
/// Turns are not recorded: what a device does in one has the cause of what it has last heard, felt or waited for.
bool is_turn(const Site& site, DeviceLogic* logic, const sim::Event& event) {
  if (event.kind != static_cast<std::uint16_t>(Happening::timer) ||
      event.arg != static_cast<std::uint16_t>(Ticking::turn_timer)) {
    return false;
  }
  const Ticking* ticking = ticking_of(logic);
  return ticking != nullptr && ticking->ticks(site, event.who);
}

/// A turn of a main loop sees all that comes at its moment, whether or not it was known before. Turns of one moment go by
/// device: in which order they were scheduled depends on which were left out.
bool gives_way(const Site& site, DeviceLogic* logic, const World& world, DeviceId turn_of) {
  if (world.queue.next_at() != world.now) return false;
  bool gives = false;
  world.queue.for_each([&](sim::Instant at, std::uint64_t, const sim::Event& other, sim::EventQueue::Handle) {
    gives = gives || (at == world.now && (other.who < turn_of || !is_turn(site, logic, other)));
  });
  return gives;
}

bool is_of_people(const sim::Event& event) {
  return event.kind == static_cast<std::uint16_t>(Happening::person) ||
         event.kind == static_cast<std::uint16_t>(Happening::contact);
}

/// At one instant devices and the medium come first, as what they do was due before anybody's hand or eye that comes at its
/// very end; then people, in the order in which the scenario names them. So it makes no difference how a step came by its
/// time, by `at:` or by what was done before. Turns of a main loop come after people: they see all that comes at their moment.
bool gives_way_to_what_is_due(const Site& site, DeviceLogic* logic, const World& world,
                              const sim::Event& event) {
  if (world.queue.next_at() != world.now) return false;
  constexpr auto person = static_cast<std::uint16_t>(Happening::person);
  bool gives = false;
  world.queue.for_each([&](sim::Instant at, std::uint64_t, const sim::Event& other, sim::EventQueue::Handle) {
    if (at != world.now || gives) return;
    gives = is_of_people(other) ? event.kind == person && other.kind == person && other.who < event.who
                                : !is_turn(site, logic, other);
  });
  return gives;
}

}  // namespace

void Simulation::dispatch(const sim::Event& event) {
  if (event.kind == sim::medium_attempt_event) {
    return world_.medium.on_attempt(medium_context(), event.who, event.cause);
  }
  if (event.kind == sim::medium_end_event) return world_.medium.on_end(medium_context(), event.who);
  switch (static_cast<Happening>(event.kind)) {
    case Happening::timer: {
      const auto timer = static_cast<Timer>(event.arg);
      world_.devices[event.who].timers[event.arg] = sim::EventQueue::none;
      Stimulus due;
      due.kind = Stimulus::Kind::timer;
      due.timer = timer;
      if (is_turn(site(), logic_, event)) {
        if (!gives_way(site(), logic_, world_, event.who)) return react_to(event.who, due, event.cause);
        world_.devices[event.who].timers[event.arg] = world_.queue.push(world_.now, event);
        return;
      }
      return react_to(event.who, due, note(What::timer, event.who, event.arg, 0, event.cause));
    }
    case Happening::person:
      if (gives_way_to_what_is_due(site(), logic_, world_, event))
        return world_.queue.push(world_.now, event), void();
      return go_on(*this, event.who, event.cause);
    case Happening::contact:
      if (gives_way_to_what_is_due(site(), logic_, world_, event))
        return world_.queue.push(world_.now, event), void();
      return set_contact(event.who, static_cast<Button>(event.arg & 0xff), (event.arg & 0x100) != 0,
                         event.cause);
    case Happening::settled:
      return settled(event.who, event.arg, event.cause);
    case Happening::faded:
      return arrive(event.who, event.cause);
  }
}

// --- devices ---

namespace {
void note_said(Simulation& simulation, DeviceId device, sim::EntryId cause) {
  for (const std::string& line : take_said()) {
    if (simulation.record() != nullptr) simulation.note(What::said, device, 0, keep_said(line), cause);
  }
}

/// What was said before a firmware failed is told, too.
class SaidIsNoted {
 public:
  SaidIsNoted(Simulation& simulation, DeviceId device, sim::EntryId cause)
      : simulation_(simulation), device_(device), cause_(cause) {}
  ~SaidIsNoted() {
    if (lines_said() != 0) note_said(simulation_, device_, cause_);
  }
  SaidIsNoted(const SaidIsNoted&) = delete;
  SaidIsNoted& operator=(const SaidIsNoted&) = delete;

 private:
  Simulation& simulation_;
  DeviceId device_;
  sim::EntryId cause_;
};
}  // namespace

Level Simulation::level_now(DeviceId device) const {
  return world_.loads[site().module_index(device)].beneath(world_.now);
}

void Simulation::react_to(DeviceId device, Stimulus stimulus, sim::EntryId cause) {
  stimulus.contacts = world_.devices[device].contacts;
  Effects effects;
  if (site().is_plate(device)) {
    PlateState& state = world_.plates[device];
    if (logic_ == nullptr) [[likely]] {
      react(site().family_of(device), stimulus, state, effects);
    } else {
      const SaidIsNoted noted{*this, device, cause};
      logic_->plate(turn_of(device), stimulus, state, effects);
    }
  } else {
    stimulus.level = level_now(device);
    ModuleState& state = world_.modules[site().module_index(device)];
    if (logic_ == nullptr) [[likely]] {
      react(site().family_of(device), stimulus, state, effects);
    } else {
      const SaidIsNoted noted{*this, device, cause};
      logic_->module(turn_of(device), stimulus, state, effects);
    }
  }
  for (const Effect& effect : effects) carry_out(device, effect, cause);
}

void Simulation::carry_out(DeviceId device, const Effect& effect, sim::EntryId cause) {
  switch (effect.kind) {
    case Effect::Kind::start_timer:
      return start_timer(device, static_cast<Timer>(effect.which), effect.duration, cause);
    case Effect::Kind::stop_timer:
      return stop_timer(device, static_cast<Timer>(effect.which));
    case Effect::Kind::settle:
      return settle(device, effect.value, effect.duration, cause);
    case Effect::Kind::send:
      return world_.medium.send(medium_context(), device, encode(effect.telegram), cause);
    case Effect::Kind::show:
      return show(device, static_cast<Pattern>(effect.which), cause);
    case Effect::Kind::fade:
      return fade(device, effect.value, effect.duration, cause);
    case Effect::Kind::flash:
      return flash(device, effect.value, cause);
    case Effect::Kind::flash_over:
      return end_flash(device, cause);
    case Effect::Kind::tell:
      return tell(device, effect, cause);
  }
}

void Simulation::tell(DeviceId device, const Effect& effect, sim::EntryId cause) {
  switch (static_cast<Told>(effect.which)) {
    case Told::mode:
      return tell_mode(device, static_cast<Mode>(effect.value), static_cast<ModeReason>(effect.detail),
                       cause);
    case Told::channel:
      note(What::channel, device, effect.value, 0, cause);
      return;
    case Told::gesture:
      note(What::gesture, device, 0, 0, cause);
      return;
    case Told::refused:
      note(What::refused, device, effect.value, 0, cause);
      return;
    case Told::assign_ignored:
      note(What::assign_ignored, device, 0, 0, cause, mode_entry(device));
      return;
    case Told::store_begun:
      note(What::store_begun, device, 0, 0, cause);
      return;
    case Told::stored:
      return tell_stored(device, cause);
    case Told::power_up:
      note(What::power_up, device, effect.value, 0, cause);
      return;
    case Told::blips_awake:
      note(What::blips, device, effect.value, 0, cause);
      return;
    case Told::blip_unshown:
      note(What::blip_unshown, device, 0, 0, cause);
      return;
    case Told::obeyed:
      note(What::obeyed, device, 0, 0, cause);
      return;
  }
}

void Simulation::tell_mode(DeviceId device, Mode mode, ModeReason reason, sim::EntryId cause) {
  DeviceState& state = world_.devices[device];
  state.mode = mode;
  if (mode == Mode::setup) {
    state.was_in_setup = 1;
  } else {
    state.setup_ended_by = reason;
  }
  mode == Mode::setup ? setup_began(site(), world_, device) : setup_ended(site(), world_, device, reason);
  const sim::EntryId entry =
      note(What::mode, device, static_cast<std::uint32_t>(mode), static_cast<std::uint64_t>(reason), cause);
  if (record_ != nullptr) mode_entries_[device] = entry;
}

void Simulation::tell_stored(DeviceId device, sim::EntryId cause) {
  if (record_ == nullptr) {
    note(What::stored, device);
    return;
  }
  const std::size_t index = site().module_index(device);
  const Address& address = world_.modules[index].memory.address;
  const bool changed = recorded_addresses_[index] != address;
  recorded_addresses_[index] = address;
  note(What::stored, device,
       address.site | static_cast<std::uint32_t>(address.zone) << 8 |
           static_cast<std::uint32_t>(address.channel) << 16,
       changed ? 1 : 0, cause);
}

namespace {
/// What a device does again and again by itself.
bool repeats(Timer timer) {
  return timer == Timer::beacon || timer == Timer::ask;
}

/// A drift is drawn anew wherever it is asked for; those that were asked for last are at hand.
std::int64_t drift_of(std::uint64_t seed, std::uint32_t owner, std::uint32_t tolerance) {
  struct Drawn {
    std::uint64_t seed = 0;
    std::uint32_t owner = 0;
    std::uint32_t tolerance = 0;
    std::int64_t drift = 0;
  };
  thread_local std::array<Drawn, 16> last{};
  Drawn& drawn = last[owner % last.size()];
  if (drawn.tolerance != tolerance || drawn.owner != owner || drawn.seed != seed) {
    drawn = {seed, owner, tolerance, sim::clock_drift_ppb(seed, owner, tolerance)};
  }
  return drawn.drift;
}
}  // namespace

/// A clock that is off shows where its error adds up, in what is repeated: two who began together do not meet on the bus for
/// ever. Of what is timed once it would take some milliseconds off four minutes, which nobody could tell; so a time-out is to
/// the moment what the family says.
sim::Duration Simulation::by_its_clock(DeviceId device, sim::Duration duration) const {
  const std::uint32_t tolerance = site().family_of(device).clock_tolerance_ppb;
  if (tolerance == 0) return duration;
  const std::uint32_t owner = site().network.nodes[device].owner;
  return sim::really_takes(duration, drift_of(world_.seed, owner, tolerance));
}

void Simulation::start_timer(DeviceId device, Timer timer, sim::Duration duration, sim::EntryId cause) {
  if (repeats(timer)) duration = by_its_clock(device, duration);
  sim::EventQueue::Handle& handle = world_.devices[device].timers[static_cast<std::size_t>(timer)];
  const sim::Instant due = world_.now + duration;
  if (handle != sim::EventQueue::none) {
    world_.queue.rearm(handle, due, cause);
  } else {
    handle = world_.queue.push(due, {static_cast<std::uint16_t>(Happening::timer),
                                     static_cast<std::uint16_t>(timer), device, cause});
  }
}

void Simulation::stop_timer(DeviceId device, Timer timer) {
  sim::EventQueue::Handle& handle = world_.devices[device].timers[static_cast<std::size_t>(timer)];
  if (handle == sim::EventQueue::none) return;
  world_.queue.cancel(handle);
  handle = sim::EventQueue::none;
}

/// Buttons settle each for itself, so that their times have no place among the timers.
void Simulation::settle(DeviceId device, Buttons buttons, sim::Duration duration, sim::EntryId cause) {
  schedule(duration, Happening::settled, device, buttons, cause);
}

void Simulation::settled(DeviceId device, Buttons buttons, sim::EntryId cause) {
  Stimulus due;
  due.kind = Stimulus::Kind::timer;
  due.timer = Timer::debounce;
  due.settled = buttons;
  react_to(device, due, note(What::timer, device, static_cast<std::uint32_t>(Timer::debounce), 0, cause));
}

void Simulation::show(DeviceId device, Pattern pattern, sim::EntryId cause) {
  world_.devices[device].indicator = pattern;
  note(What::indicator, device, static_cast<std::uint32_t>(pattern), 0, cause);
}

// --- what people and faults do ---

void Simulation::set_power(DeviceId device, bool on, sim::EntryId cause) {
  DeviceState& state = world_.devices[device];
  if ((state.powered != 0) == on) return;
  const sim::EntryId entry = note(What::power, device, on ? 1 : 0, 0, cause);
  state.powered = on ? 1 : 0;
  world_.medium.set_power(medium_context(), device, on, entry);
  if (!on) return lose_power(device, entry);
  if (!site().is_plate(device))
    state.believed_in_setup = 0;  // its lamp and its load start afresh; a plate is not looked at
  react_to(device, Stimulus{}, entry);
}

void Simulation::lose_power(DeviceId device, sim::EntryId cause) {
  DeviceState& state = world_.devices[device];
  for (std::size_t timer = 0; timer < timer_count; ++timer) stop_timer(device, static_cast<Timer>(timer));
  if (state.mode == Mode::setup) tell_mode(device, Mode::normal, ModeReason::power, cause);
  if (state.indicator != Pattern::dark) show(device, Pattern::dark, cause);
  if (site().is_plate(device)) {
    lose_plate_state(device);
    return note_said(*this, device, cause);
  }
  lose_module_state(device, cause);
  note_said(*this, device, cause);
  fade(device, 0, sim::Duration::zero(), cause);
}

void Simulation::lose_plate_state(DeviceId device) {
  PlateState& plate = world_.plates[device];
  if (plate.settling != 0) forget_settling(device);
  PlateState cleared;
  cleared.site = plate.site;
  cleared.zone = plate.zone;
  if (logic_ != nullptr) logic_->plate_lost_power(turn_of(device), plate, cleared);
  plate = cleared;
}

void Simulation::lose_module_state(DeviceId device, sim::EntryId cause) {
  ModuleState& module = world_.modules[site().module_index(device)];
  ModuleState cleared = after_power_cut(site().module_family(device), module, level_now(device));
  if (module.storing != 0) {
    const bool lost = site().module_family(device).memory.torn_write == TornWrite::factory;
    note(What::store_torn, device, 0, lost ? 1 : 0, cause);
    if (record_ != nullptr) recorded_addresses_[site().module_index(device)] = cleared.memory.address;
  }
  if (logic_ != nullptr) logic_->module_lost_power(turn_of(device), module, cleared);
  module = cleared;
}

void Simulation::set_switches(DeviceId plate, std::uint8_t site_number, std::uint8_t zone,
                              sim::EntryId cause) {
  world_.plates[plate].site = site_number;
  world_.plates[plate].zone = zone;
  const sim::EntryId entry = note(What::switches, plate, site_number, zone, cause);
  Ticking* ticking = world_.devices[plate].powered == 0 ? nullptr : ticking_of(logic_);
  if (ticking == nullptr) return;
  Effects effects;
  ticking->look_again(turn_of(plate), effects);
  for (const Effect& effect : effects) carry_out(plate, effect, entry);
}

void Simulation::set_link(std::uint32_t link, sim::LinkState state, std::uint32_t bit_error_ppb,
                          sim::EntryId cause) {
  world_.medium.set_link(site().network, link, state, bit_error_ppb);
  note(What::link, site().network.links[link].a, link,
       static_cast<std::uint64_t>(state) | static_cast<std::uint64_t>(bit_error_ppb) << 8, cause);
}

void Simulation::deafen(DeviceId device, std::uint16_t telegrams, sim::EntryId cause) {
  world_.medium.deafen(device, telegrams);
  note(What::deaf, device, telegrams, 0, cause);
}

// --- the medium ---

sim::EntryId Simulation::medium_note(sim::MediumNote medium_note, sim::NodeId node, sim::NodeId sender,
                                     std::uint32_t detail, const sim::Frame& frame, sim::EntryId cause) {
  const What what = what_of(medium_note);
  if (record_ == nullptr) return note(what, node);
  const auto telegram = decode(frame);
  const std::uint64_t packed = telegram ? pack(*telegram) : 0;
  if (what == What::lost)
    return note(what, node, lost_by(sender, static_cast<sim::Loss>(detail)), packed, cause);
  return note(what, node, what == What::sent_whole || what == What::dropped ? 0 : detail, packed, cause);
}

void Simulation::medium_deliver(sim::NodeId receiver, sim::NodeId sender, const sim::Frame& frame,
                                sim::EntryId cause) {
  if (frame != decoded_frame_) {
    decoded_frame_ = frame;
    decoded_ = decode(frame);
  }
  if (decoded_) hear(receiver, sender, *decoded_, cause);
}

void Simulation::hear(DeviceId receiver, DeviceId sender, const Telegram& telegram, sim::EntryId cause) {
  const sim::EntryId heard =
      record_ == nullptr ? sim::no_entry : note(What::heard, receiver, sender, pack(telegram), cause);
  Stimulus stimulus;
  stimulus.kind = Stimulus::Kind::telegram;
  stimulus.telegram = telegram;
  if (logic_ != nullptr) stimulus.crc = crc_of(telegram == decoded_ ? decoded_frame_ : encode(telegram));
  react_to(receiver, stimulus, heard);
}

void Simulation::medium_damaged(sim::NodeId receiver, sim::NodeId, const sim::Frame& heard,
                                sim::EntryId lost) {
  if (logic_ == nullptr || !logic_->hears_damaged(site().is_plate(receiver))) return;
  Stimulus stimulus;
  stimulus.kind = Stimulus::Kind::telegram;
  stimulus.intact = false;
  stimulus.telegram = {static_cast<TelegramKind>(heard.bytes[0]), heard.bytes[1], heard.bytes[2],
                       heard.bytes[3], heard.bytes[4]};
  stimulus.crc = crc_of(heard);
  react_to(receiver, stimulus, lost);
}

}  // namespace drybus::model
