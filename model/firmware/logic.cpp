#include "model/firmware/logic.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstring>

#include "model/firmware/host.h"
#include "model/firmware/numbers.h"
#include "model/record/said.h"
#include "model/words/words.h"
#include "model/world/world.h"

namespace drybus::model {

namespace {

using Handler = FirmwareCall::Handler;

constexpr std::size_t alignment = 16;
constexpr std::byte erased{0xff};

constexpr std::size_t rounded_up(std::size_t size) {
  return (size + alignment - 1) / alignment * alignment;
}

drybus_telegram telegram_of(const Stimulus& stimulus) {
  const Telegram& telegram = stimulus.telegram;
  return {static_cast<std::uint8_t>(telegram.kind),
          telegram.site,
          telegram.zone,
          telegram.channel,
          telegram.argument,
          static_cast<std::uint8_t>(stimulus.crc >> 8),
          static_cast<std::uint8_t>(stimulus.crc),
          static_cast<std::uint8_t>(stimulus.intact ? 1 : 0)};
}

/// `telegram` is filled in if there is one, and must live until the call is made.
void fill_in(FirmwareCall& call, const Stimulus& stimulus, drybus_telegram& telegram) {
  switch (stimulus.kind) {
    case Stimulus::Kind::power_on:
      call.handler = Handler::reset;
      break;
    case Stimulus::Kind::contacts:
      call.handler = Handler::button;
      call.a = stimulus.button;
      call.b = stimulus.closed ? 1 : 0;
      break;
    case Stimulus::Kind::telegram:
      call.handler = Handler::telegram;
      telegram = telegram_of(stimulus);
      call.telegram = &telegram;
      break;
    case Stimulus::Kind::timer:
      call.handler = Handler::timer;
      call.a = static_cast<std::uint32_t>(stimulus.timer);
      break;
  }
}

bool has_handler(const drybus_firmware& firmware, Handler handler) {
  switch (handler) {
    case Handler::provision:
      return firmware.provision != nullptr;
    case Handler::reset:
      return firmware.reset != nullptr;
    case Handler::button:
      return firmware.button != nullptr;
    case Handler::telegram:
      return firmware.telegram != nullptr;
    case Handler::timer:
      return firmware.timer != nullptr;
    case Handler::power_lost:
      return firmware.power_lost != nullptr;
    case Handler::poll:
      return firmware.poll != nullptr;
  }
  return false;
}

}  // namespace

void FirmwareCall::make(void* state) const {
  const drybus_host* host = &host_functions();
  switch (handler) {
    case Handler::provision:
      return firmware->provision(host, device, state, provision);
    case Handler::reset:
      return firmware->reset(host, device, state);
    case Handler::button:
      return firmware->button(host, device, state, a, b);
    case Handler::telegram:
      return firmware->telegram(host, device, state, telegram);
    case Handler::timer:
      return firmware->timer(host, device, state, a);
    case Handler::power_lost:
      return firmware->power_lost(host, device, state);
    case Handler::poll:
      return firmware->poll(host, device, state);
  }
}

std::array<FirmwareCall::Handed, 3> FirmwareCall::handed() const {
  return {Handed{&host_functions(), sizeof(drybus_host)}, Handed{device, sizeof *device},
          Handed{device->numbers, sizeof(drybus_numbers)}};
}

void log_line(drybus_device& device, const char* text) {
  host_functions().log(&device, text);
}

std::string_view to_string(Handler handler) {
  switch (handler) {
    case Handler::provision:
      return "provision";
    case Handler::reset:
      return "reset";
    case Handler::button:
      return "button";
    case Handler::telegram:
      return "telegram";
    case Handler::timer:
      return "timer";
    case Handler::power_lost:
      return "power_lost";
    case Handler::poll:
      return "poll";
  }
  return "?";
}

FirmwareLogic::FirmwareLogic(const Site& site, std::optional<FirmwareSeat> plate,
                             std::optional<FirmwareSeat> module, const FirmwareManner& manner)
    : numbers_(numbers_of(site.family)),
      manner_(manner),
      plate_(kind_of(std::move(plate), 0, 0)),
      module_(kind_of(std::move(module), site.plates.size(), site.plates.size() * plate_.stride)) {}

FirmwareLogic::Kind FirmwareLogic::kind_of(std::optional<FirmwareSeat> seat, std::size_t first,
                                           std::size_t begin) {
  Kind kind;
  kind.first = first;
  kind.begin = begin;
  if (!seat) return kind;
  kind.memory_at = state_at + rounded_up(seat->state_size);
  kind.stride = kind.memory_at + rounded_up(seat->firmware->memory_size);
  if (seat->firmware->poll != nullptr) {
    kind.period = sim::Duration{seat->firmware->poll_period};
    kind.turns_at = kind.stride;
    kind.stride += sizeof(TurnState);
  }
  kind.seat = std::move(seat);
  return kind;
}

bool FirmwareLogic::hears_damaged(bool plate) const {
  const auto& seat = kind(plate).seat;
  return seat && (seat->firmware->flags & DRYBUS_HEARS_DAMAGED) != 0;
}

// --- a world at its start ---

void FirmwareLogic::prepare(const Site& site, World& world) {
  world.firmware.assign(site.plates.size() * plate_.stride + site.modules.size() * module_.stride,
                        std::byte{});
  for (std::size_t i = 0; i < site.device_count(); ++i) {
    const auto device = static_cast<DeviceId>(i);
    const Kind& mine = kind(site.is_plate(device));
    if (mine.seat) prepare(mine, {site, world, device});
  }
}

void FirmwareLogic::prepare(const Kind& kind, const DeviceTurn& turn) const {
  Effects forgotten;
  const Stimulus none;
  const drybus_device device = device_of(kind, turn, none, forgotten);
  clear_state(kind, turn);
  std::fill_n(device.memory, device.memory_size, erased);
  if (turn.site.is_plate(turn.device)) return;
  provision(kind, turn);
  clear_state(kind, turn);
}

void FirmwareLogic::provision(const Kind& kind, const DeviceTurn& turn) const {
  Effects forgotten;
  const Stimulus none;
  drybus_device device = device_of(kind, turn, none, forgotten);
  device.module = &turn.world.modules[turn.site.module_index(turn.device)];
  const drybus_provision given = provision_of(device.module->memory);
  FirmwareCall asked;
  asked.handler = Handler::provision;
  asked.provision = &given;
  call(kind, device, asked);
  take_back_said(0);  // before the run there is no record
}

void FirmwareLogic::clear_state(const Kind& kind, const DeviceTurn& turn) {
  std::byte* block = kind.block_in(turn.world, turn.device);
  const std::vector<std::byte>& fresh = kind.seat->at_power_on;
  std::fill(block + state_at, block + kind.memory_at, std::byte{});
  std::copy(fresh.begin(), fresh.end(), block + state_at);
}

// --- one call ---

drybus_device FirmwareLogic::device_of(const Kind& kind, const DeviceTurn& turn, const Stimulus& stimulus,
                                       Effects& effects) const {
  std::byte* block = kind.block_in(turn.world, turn.device);
  drybus_device device;
  device.turn = &turn;
  device.stimulus = &stimulus;
  device.effects = &effects;
  device.numbers = &numbers_;
  device.header = reinterpret_cast<FirmwareHeader*>(block);
  device.memory = block + kind.memory_at;
  device.memory_size = kind.seat->firmware->memory_size;
  device.shown = turn.world.devices[turn.device].indicator;
  device.now = turn.world.now;
  device.age = manner_.age;
  if (kind.has_turns()) device.turns = &kind.turns_in(block);
  return device;
}

namespace {
[[noreturn, gnu::noinline]] void fail(const drybus_device& device, const FirmwareCall& asked,
                                      const char* wrong) {
  const DeviceTurn& turn = *device.turn;
  throw FirmwareFault{turn.device,
                      tr("{}: the firmware '{}', in its handler for {}, {}", turn.site.name(turn.device),
                         asked.firmware->name, to_string(asked.handler), in_words_spoken(wrong))};
}
}  // namespace

void FirmwareLogic::call(const Kind& kind, drybus_device& device, FirmwareCall& asked) {
  const FirmwareSeat& seat = *kind.seat;
  asked.firmware = seat.firmware;
  if (!has_handler(*asked.firmware, asked.handler)) return;
  asked.device = &device;
  asked.who = device.turn->device;
  asked.at = device.turn->world.now;
  std::byte* state = reinterpret_cast<std::byte*>(device.header) + state_at;
  const char* wrong = seat.caller->call(asked, {state, seat.state_size});
  if (wrong == nullptr) wrong = device.misuse;
  if (wrong != nullptr) fail(device, asked, wrong);
}

void FirmwareLogic::react_to(const Kind& kind, const Stimulus& stimulus, drybus_device& device) const {
  const bool comes_on = stimulus.kind == Stimulus::Kind::power_on;
  if (kind.has_turns()) {
    if (stimulus.kind == Stimulus::Kind::timer && stimulus.timer == Ticking::turn_timer)
      return take_turn(kind, device);
    comes_on ? begin_turns(kind, *device.turn) : catch_up(kind, *device.turn);
  }
  drybus_telegram telegram;
  FirmwareCall asked;
  fill_in(asked, stimulus, telegram);
  call(kind, device, asked);
  if (kind.has_turns()) {
    const sim::Instant now = device.turn->world.now;
    device.effects->start(Ticking::turn_timer, next_turn(*device.turns, kind.period, now) - now);
  }
}

void FirmwareLogic::plate(const DeviceTurn& turn, const Stimulus& stimulus, PlateState& state,
                          Effects& effects) {
  if (!plate_.seat) return react(turn.family(), stimulus, state, effects);
  drybus_device device = device_of(plate_, turn, stimulus, effects);
  device.plate = &state;
  react_to(plate_, stimulus, device);
}

void FirmwareLogic::module(const DeviceTurn& turn, const Stimulus& stimulus, ModuleState& state,
                           Effects& effects) {
  if (!module_.seat) return react(turn.family(), stimulus, state, effects);
  drybus_device device = device_of(module_, turn, stimulus, effects);
  device.module = &state;
  react_to(module_, stimulus, device);
}

// --- power ---

/// Calls the handler, then takes away what does not outlive the power.
void FirmwareLogic::lose_power(const Kind& kind, drybus_device& device) {
  if (kind.has_turns()) catch_up(kind, *device.turn);
  FirmwareCall asked;
  asked.handler = Handler::power_lost;
  call(kind, device, asked);
  if (kind.has_turns()) *device.turns = {.born = 1};
  FirmwareHeader& header = *device.header;
  if (header.storing != 0) {
    std::fill(device.memory + header.store_from, device.memory + header.store_to, erased);
  }
  header.storing = 0;
  header.store_from = header.store_to = 0;
  clear_state(kind, *device.turn);
}

void FirmwareLogic::plate_lost_power(const DeviceTurn& turn, const PlateState& before, PlateState&) {
  if (!plate_.seat) return;
  Effects forgotten;
  Stimulus last;
  last.contacts = turn.world.devices[turn.device].contacts;
  drybus_device device = device_of(plate_, turn, last, forgotten);
  PlateState mirror = before;
  device.plate = &mirror;
  lose_power(plate_, device);
}

void FirmwareLogic::module_lost_power(const DeviceTurn& turn, const ModuleState& before, ModuleState&) {
  if (!module_.seat) return;
  Effects forgotten;
  Stimulus last;
  last.contacts = turn.world.devices[turn.device].contacts;
  last.level = turn.world.loads[turn.site.module_index(turn.device)].at(turn.world.now);
  drybus_device device = device_of(module_, turn, last, forgotten);
  ModuleState mirror = before;
  device.module = &mirror;
  lose_power(module_, device);
}

}  // namespace drybus::model
