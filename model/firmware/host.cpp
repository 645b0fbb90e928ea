#include "model/firmware/host.h"

#include <algorithm>
#include <cstring>

#include "model/record/said.h"
#include "model/words/words.h"
#include "model/world/world.h"
#include "sim/random.h"

namespace drybus::model {

namespace {

// The interface's numbers are the model's own; see firmware_numbers.cpp.
static_assert(timer_count >= DRYBUS_TIMERS && static_cast<int>(Timer::store) == DRYBUS_TIMER_STORE);
static_assert(static_cast<int>(Timer::time_out) == DRYBUS_TIMER_TIME_OUT &&
              static_cast<int>(Timer::sleep) == DRYBUS_TIMER_SLEEP);
static_assert(sim::ByEnum<Pattern, int>{DRYBUS_DARK, DRYBUS_BLIP, DRYBUS_BREATHE, DRYBUS_BLINK, DRYBUS_STEADY,
                                        DRYBUS_REFUSE} == sim::ByEnum<Pattern, int>{0, 1, 2, 3, 4, 5});
static_assert(static_cast<int>(TelegramKind::stop) == DRYBUS_STOP);
static_assert(static_cast<int>(ModeReason::power) == DRYBUS_BY_POWER &&
              static_cast<int>(Mode::setup) == DRYBUS_SETUP);
static_assert(static_cast<int>(Refusal::no_such_channel) == DRYBUS_REFUSED_NO_SUCH_CHANNEL);
static_assert(Effects::capacity >= DRYBUS_MOST_REQUESTS && full_level == DRYBUS_FULL_LEVEL);

/// Any longer, and the instant at which it is over could not be told.
constexpr drybus_ns longest_timer = std::int64_t{1} << 61;

void fail(const drybus_device* device, const char* what) {
  if (device->misuse == nullptr) device->misuse = what;
}

bool may_ask(drybus_device* device) {
  if (device->effects->size() < DRYBUS_MOST_REQUESTS) return true;
  fail(device, msg("asks for more than 24 things in one handler").data());
  return false;
}

// --- to ask ---

/// The firmware looks at a clock: what it does next may depend on it.
void note_clock(const drybus_device* device, std::uint8_t which) {
  if (device->turns != nullptr) device->turns->clock_counts |= which;
}

drybus_ns now(const drybus_device* device) {
  note_clock(device, TurnState::run_clock);
  if (device->watch != nullptr) device->watch->clock = true;
  return (device->now.time_since_epoch() + device->age).count();
}

constexpr sim::Duration millisecond = std::chrono::milliseconds{1};

/// In whole milliseconds, and not modulo anything.
std::int64_t age_of(const drybus_device* device) {
  const sim::Duration age = device->turns != nullptr ? device->now - device->turns->began
                                                     : device->now.time_since_epoch() + device->age;
  return age / millisecond;
}

std::uint32_t millis(const drybus_device* device) {
  note_clock(device, TurnState::power_clock);
  if (device->watch != nullptr) device->watch->clock = true;
  return static_cast<std::uint32_t>(age_of(device));
}

std::uint32_t passed(const drybus_device* device, std::uint32_t since, std::uint32_t duration) {
  note_clock(device, TurnState::power_clock);
  const std::int64_t age = age_of(device);
  const std::uint32_t gone = static_cast<std::uint32_t>(age) - since;
  const bool is_over = gone >= duration;
  if (device->watch != nullptr) {
    // The answer changes when the time is over, and again when the count has gone all the way round.
    const std::int64_t left = (is_over ? std::int64_t{1} << 32 : std::int64_t{duration}) - gone;
    device->watch->wakes = std::min(device->watch->wakes, device->turns->began + (age + left) * millisecond);
  }
  return is_over ? 1 : 0;
}

const drybus_numbers* numbers(const drybus_device* device) {
  return device->numbers;
}

std::uint16_t contacts(const drybus_device* device) {
  return device->stimulus->contacts;
}

std::uint8_t site_switch(const drybus_device* device) {
  return device->plate == nullptr ? 0 : device->plate->site;
}

std::uint8_t zone_switch(const drybus_device* device) {
  return device->plate == nullptr ? 0 : device->plate->zone;
}

const LoadState& load_of(const drybus_device* device) {
  const DeviceTurn& turn = *device->turn;
  return turn.world.loads[turn.site.module_index(turn.device)];
}

std::uint16_t level(const drybus_device* device) {
  if (device->watch == nullptr || device->module == nullptr) return device->stimulus->level;
  const LoadState& load = load_of(device);
  if (load.arrival != sim::EventQueue::none) device->watch->clock = device->watch->fades = true;
  return load.at(device->now);
}

std::uint32_t random(drybus_device* device) {
  const DeviceTurn& turn = *device->turn;
  sim::Stream stream{turn.world.seed, sim::Purpose::firmware, turn.site.network.nodes[turn.device].owner,
                     device->header->draws++};
  return static_cast<std::uint32_t>(stream.next() >> 32);
}

bool in_memory(const drybus_device* device, std::uint32_t offset, std::uint32_t size) {
  return std::uint64_t{offset} + size <= device->memory_size;
}

void memory_read(const drybus_device* device, std::uint32_t offset, void* to, std::uint32_t size) {
  if (!in_memory(device, offset, size)) {
    std::memset(to, 0xff, size);
    return fail(device, msg("reads beyond the end of its memory").data());
  }
  if (size != 0) std::memcpy(to, device->memory + offset, size);
}

// --- memory ---

void memory_write(drybus_device* device, std::uint32_t offset, const void* from, std::uint32_t size) {
  if (!in_memory(device, offset, size))
    return fail(device, msg("writes beyond the end of its memory").data());
  if (size == 0) return;
  if (device->watch != nullptr) device->watch->wrote = true;
  std::memcpy(device->memory + offset, from, size);
  FirmwareHeader& header = *device->header;
  if (header.storing == 0) return;
  const auto to = static_cast<std::uint16_t>(offset + size);
  const bool first = header.store_from == header.store_to;
  header.store_from = first ? static_cast<std::uint16_t>(offset)
                            : std::min(header.store_from, static_cast<std::uint16_t>(offset));
  header.store_to = first ? to : std::max(header.store_to, to);
}

void store_begin(drybus_device* device) {
  if (device->module == nullptr) return fail(device, msg("begins a store, which only modules have").data());
  if (!may_ask(device)) return;
  device->header->storing = 1;
  device->module->storing = 1;
  device->effects->tell(Told::store_begun);
}

void store_end(drybus_device* device) {
  if (device->module == nullptr || device->header->storing == 0)
    return fail(device, msg("ends a store that it has not begun").data());
  if (!may_ask(device)) return;
  device->header->storing = 0;
  device->header->store_from = device->header->store_to = 0;
  device->module->storing = 0;
  device->effects->tell(Told::stored);
}

// --- to ask for ---

void start_timer(drybus_device* device, std::uint32_t timer, drybus_ns duration) {
  if (timer >= DRYBUS_TIMERS) return fail(device, msg("starts a timer that does not exist").data());
  if (duration < DRYBUS_SHORTEST_TIMER)
    return fail(device, msg("starts a timer for less than a microsecond").data());
  if (duration > longest_timer) return fail(device, msg("starts a timer for longer than 73 years").data());
  if (may_ask(device)) device->effects->start(static_cast<Timer>(timer), sim::Duration{duration});
}

void stop_timer(drybus_device* device, std::uint32_t timer) {
  if (timer >= DRYBUS_TIMERS) return fail(device, msg("stops a timer that does not exist").data());
  if (may_ask(device)) device->effects->stop(static_cast<Timer>(timer));
}

void send(drybus_device* device, std::uint8_t kind, std::uint8_t site, std::uint8_t zone,
          std::uint8_t channel, std::uint8_t argument) {
  if (kind < DRYBUS_BEACON || kind > DRYBUS_STOP)
    return fail(device, msg("sends a telegram of a kind that does not exist").data());
  if (may_ask(device))
    device->effects->send({static_cast<TelegramKind>(kind), site, zone, channel, argument});
}

void show(drybus_device* device, std::uint32_t pattern) {
  if (pattern > DRYBUS_REFUSE) return fail(device, msg("shows a pattern that does not exist").data());
  const auto wanted = static_cast<Pattern>(pattern);
  if (wanted == device->shown || !may_ask(device)) return;
  device->shown = wanted;
  device->effects->show(wanted);
}

/// A main loop sets its outputs in every turn.
bool is_there_already(const drybus_device* device, std::uint32_t level) {
  if (device->watch == nullptr) return false;
  const LoadState& load = load_of(device);
  const bool there = load.arrival == sim::EventQueue::none && load.to == level && !device->watch->set_level;
  if (!there) device->watch->set_level = true;
  return there;
}

void set_level(drybus_device* device, std::uint32_t level, drybus_ns duration) {
  if (device->module == nullptr) return fail(device, msg("sets a level, but a plate has no load").data());
  if (level > DRYBUS_FULL_LEVEL) return fail(device, msg("sets a level above 1000").data());
  if (duration < 0) return fail(device, msg("fades for less than no time").data());
  if (duration > longest_timer) return fail(device, msg("fades for longer than 73 years").data());
  if (is_there_already(device, level)) return;
  if (may_ask(device)) device->effects->fade(static_cast<Level>(level), sim::Duration{duration});
}

// --- to tell ---

void tell_mode(drybus_device* device, std::uint32_t mode, std::uint32_t reason) {
  if (mode > DRYBUS_SETUP || reason > DRYBUS_BY_POWER)
    return fail(device, msg("tells a mode that does not exist").data());
  const Mode before = device->plate != nullptr ? device->plate->mode : device->module->mode;
  if (device->watch != nullptr && static_cast<Mode>(mode) == before)
    return;  // a main loop tells it in every turn
  if (device->plate != nullptr) {
    device->plate->mode = static_cast<Mode>(mode);
    device->plate->channel = 0;
  } else {
    device->module->mode = static_cast<Mode>(mode);
  }
  device->effects->tell(Told::mode, static_cast<std::uint16_t>(mode), reason);
}

void tell_channel(drybus_device* device, std::uint32_t channel) {
  if (device->plate == nullptr)
    return fail(device, msg("tells a channel, which only plates stand at").data());
  if (channel > 0xff) return fail(device, msg("tells a channel above 255").data());
  if (device->watch != nullptr && device->plate->channel == channel) return;
  device->plate->channel = static_cast<std::uint8_t>(channel);
  device->effects->tell(Told::channel, static_cast<std::uint16_t>(channel));
}

/// A module's power-up mode and what only modules do.
void tell_of_module(drybus_device* device, std::uint32_t what, std::uint32_t a) {
  if (device->module == nullptr) return fail(device, msg("tells what only modules do").data());
  if (what == DRYBUS_TELL_ASSIGN_IGNORED) return device->effects->tell(Told::assign_ignored);
  if (what == DRYBUS_TELL_OBEYED) return device->effects->tell(Told::obeyed);
  if (a > DRYBUS_POWER_UP_LAST) return fail(device, msg("tells a power-up mode that does not exist").data());
  device->module->memory.power_up = static_cast<PowerUp>(a);
  device->effects->tell(Told::power_up, static_cast<std::uint16_t>(a));
}

void tell(drybus_device* device, std::uint32_t what, std::uint32_t a, std::uint32_t b) {
  if (!may_ask(device)) return;
  switch (what) {
    case DRYBUS_TELL_MODE:
      return tell_mode(device, a, b);
    case DRYBUS_TELL_CHANNEL:
      return tell_channel(device, a);
    case DRYBUS_TELL_GESTURE:
      return device->effects->tell(Told::gesture);
    case DRYBUS_TELL_REFUSED:
      if (a > DRYBUS_REFUSED_NO_SUCH_CHANNEL)
        return fail(device, msg("tells a refusal that does not exist").data());
      return device->effects->tell(Told::refused, static_cast<std::uint16_t>(a));
    case DRYBUS_TELL_BLIPS:
      return device->effects->tell(Told::blips_awake, a != 0 ? 1 : 0);
    case DRYBUS_TELL_BLIP_UNSHOWN:
      return device->effects->tell(Told::blip_unshown);
    case DRYBUS_TELL_ASSIGN_IGNORED:
    case DRYBUS_TELL_POWER_UP:
    case DRYBUS_TELL_OBEYED:
      return tell_of_module(device, what, a);
    default:
      return fail(device,
                  msg("tells something that does not exist").data());  // any number can come in from C
  }
}

void tell_memory(drybus_device* device, std::uint8_t site, std::uint8_t zone, std::uint8_t channel,
                 std::uint32_t power_up) {
  if (device->module == nullptr)
    return fail(device, msg("tells an address, but a plate's are its switches").data());
  if (power_up > DRYBUS_POWER_UP_LAST)
    return fail(device, msg("tells a power-up mode that does not exist").data());
  device->module->memory.address = {site, zone, channel};
  device->module->memory.power_up = static_cast<PowerUp>(power_up);
}

std::uint32_t memory_size(const drybus_device* device) {
  return device->memory_size;
}

void log(drybus_device* device, const char* text) {
  if (device->watch != nullptr) device->watch->wrote = true;
  if (++device->lines > DRYBUS_MOST_REQUESTS)
    return fail(device, msg("logs more than 24 lines in one handler").data());
  say(std::string_view{text, strnlen(text, DRYBUS_LONGEST_LOG)});
}

}  // namespace

const drybus_host& host_functions() {
  static constexpr drybus_host table = {DRYBUS_FIRMWARE_ABI,
                                        sizeof(drybus_host),
                                        now,
                                        numbers,
                                        contacts,
                                        site_switch,
                                        zone_switch,
                                        level,
                                        random,
                                        memory_read,
                                        memory_write,
                                        store_begin,
                                        store_end,
                                        start_timer,
                                        stop_timer,
                                        send,
                                        show,
                                        set_level,
                                        tell,
                                        tell_memory,
                                        memory_size,
                                        millis,
                                        passed,
                                        log};
  return table;
}

}  // namespace drybus::model
