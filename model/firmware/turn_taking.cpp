// How firmware goes through the turns of its main loop, and which ones it need not go through: FirmwareLogic as Ticking.
#include <algorithm>
#include <cstring>
#include <utility>

#include "model/firmware/host.h"
#include "model/firmware/logic.h"
#include "model/record/said.h"
#include "model/world/world.h"

namespace drybus::model {

namespace {

/// A search looks so far ahead for the next thing that a device does by itself.
constexpr sim::Duration furthest_change = std::chrono::hours{1};
/// For so long what does not change by itself is left alone.
constexpr sim::Duration furthest_foreseen = std::chrono::hours{24 * 365 * 20};
constexpr sim::Duration nearest_change = std::chrono::seconds{1};
constexpr int most_turns_to_change = 8'192;

bool is_next_turn(const Effect& effect) {
  return effect.kind == Effect::Kind::start_timer &&
         effect.which == static_cast<std::uint8_t>(Ticking::turn_timer);
}

}  // namespace

// --- where things lie ---

/// In whole words.
std::span<std::byte> FirmwareLogic::Kind::state_in(std::byte* block) const {
  return {block + state_at, block + memory_at};
}

TurnState& FirmwareLogic::Kind::turns_in(std::byte* block) const {
  return *reinterpret_cast<TurnState*>(block + turns_at);
}

/// All that a turn may change, as it was before. One for each thread, so that nothing is allocated for a turn.
class FirmwareLogic::Before {
 public:
  Before(const Kind& kind, const drybus_device& device)
      : kind_(kind), device_(device), block_(bytes()), plate_(), module_() {
    const auto* from = reinterpret_cast<const std::byte*>(device.header);
    block_.assign(from, from + kind.turns_at);
    if (device.plate != nullptr) plate_ = *device.plate;
    if (device.module != nullptr) module_ = *device.module;
  }

  [[nodiscard]] std::span<const std::byte> state() const {
    return std::span{block_}.subspan(state_at, kind_.memory_at - state_at);
  }

  /// Nothing was asked for, told or written; the state apart.
  [[nodiscard]] bool is_quiet(const TurnWatch& watch) const {
    return device_.effects->size() == 0 && !watch.wrote && device_.misuse == nullptr &&
           std::memcmp(device_.header, block_.data(), sizeof(FirmwareHeader)) == 0 &&
           (device_.plate == nullptr || *device_.plate == plate_) &&
           (device_.module == nullptr || *device_.module == module_);
  }

 private:
  static std::vector<std::byte>& bytes() {
    thread_local std::vector<std::byte> kept;
    return kept;
  }

  const Kind& kind_;
  const drybus_device& device_;
  std::vector<std::byte>& block_;
  PlateState plate_;
  ModuleState module_;
};

// --- one turn ---

void FirmwareLogic::begin_turns(const Kind& kind, const DeviceTurn& turn) const {
  TurnState& turns = kind.turns_in(kind.block_in(turn.world, turn.device));
  const sim::Instant now = turn.world.now;
  turns = {.began = turns.born != 0 ? now : now - manner_.age, .latest = now, .born = 1};
}

void FirmwareLogic::catch_up(const Kind& kind, const DeviceTurn& turn) {
  std::byte* block = kind.block_in(turn.world, turn.device);
  model::settle(kind.turns_in(block), kind.state_in(block), kind.period, turn.world.now);
  expect_anything(kind.turns_in(block));
}

void FirmwareLogic::take_turn(const Kind& kind, drybus_device& device) const {
  TurnState& turns = *device.turns;
  const sim::Instant now = device.now;
  model::settle(turns, kind.state_in(reinterpret_cast<std::byte*>(device.header)), kind.period, now);
  turns.latest = now;
  const TurnCounters until_now = std::exchange(turns.counters, {});
  const Before before{kind, device};
  TurnWatch watch;
  device.watch = &watch;
  FirmwareCall asked;
  asked.handler = FirmwareCall::Handler::poll;
  call(kind, device, asked);
  std::optional<sim::Instant> next = now + kind.period;
  if (manner_.every_turn || !before.is_quiet(watch)) {
    turns.ahead = 0;
    turns.not_foreseen = 0;
  } else {
    next = foreseen(kind, device, asked, before, until_now);
  }
  device.watch = nullptr;
  if (next) device.effects->start(Ticking::turn_timer, *next - now);
}

/// When the next turn has to be gone through after a quiet one; never, when only something that reaches the device can make a
/// difference.
std::optional<sim::Instant> FirmwareLogic::foreseen(const Kind& kind, drybus_device& device,
                                                    const FirmwareCall& asked, const Before& before,
                                                    const TurnCounters& until_now) const {
  TurnState& turns = *device.turns;
  const auto counters =
      counters_of(before.state(), kind.state_in(reinterpret_cast<std::byte*>(device.header)), until_now);
  if (!counters) {
    turns.ahead = 0;
    return device.now + kind.period;
  }
  if ((*counters)[0].by == 0 && !device.watch->clock) {
    if (device.watch->wakes == sim::never) return std::nullopt;
    return next_turn(turns, kind.period, device.watch->wakes);
  }
  turns.counters = *counters;
  return go_ahead(kind, device, asked, *device.watch);
}

namespace {

/// How many turns from `now` on come before `end`.
std::uint64_t turns_before(sim::Instant end, sim::Instant now, sim::Duration period) {
  if (end <= now) return 0;
  return static_cast<std::uint64_t>((end - now + period - sim::Duration{1}) / period);
}

/// A device, put back as it was after turns that were gone through ahead of their time.
class AsItWas {
 public:
  AsItWas(drybus_device& device, std::size_t bytes)
      : device_(device),
        kept_(room()),
        shown_(device.shown),
        now_(device.now),
        watch_(device.watch),
        lines_(lines_said()) {
    auto* block = reinterpret_cast<std::byte*>(device.header);
    kept_.assign(block, block + bytes);
    if (device.plate != nullptr) plate_ = *device.plate;
    if (device.module != nullptr) module_ = *device.module;
  }
  ~AsItWas() {
    std::copy(kept_.begin(), kept_.end(), reinterpret_cast<std::byte*>(device_.header));
    if (device_.plate != nullptr) *device_.plate = plate_;
    if (device_.module != nullptr) *device_.module = module_;
    device_.effects->clear();
    device_.lines = 0;
    take_back_said(lines_);
    device_.misuse = nullptr;
    device_.shown = shown_;
    device_.now = now_;
    device_.watch = watch_;
  }
  AsItWas(const AsItWas&) = delete;
  AsItWas& operator=(const AsItWas&) = delete;

 private:
  static std::vector<std::byte>& room() {
    thread_local std::vector<std::byte> kept;
    return kept;
  }

  drybus_device& device_;
  std::vector<std::byte>& kept_;
  PlateState plate_;
  ModuleState module_;
  Pattern shown_;
  sim::Instant now_;
  TurnWatch* watch_;
  std::size_t lines_;
};

}  // namespace

/// Goes through the turns that come next, as if nothing happened meanwhile, and leaves everything as it was. Returns when
/// the first of them comes that is not as foreseen, or the last one that was gone through.
sim::Instant FirmwareLogic::go_ahead(const Kind& kind, drybus_device& device, const FirmwareCall& asked,
                                     const TurnWatch& watch) {
  TurnState& turns = *device.turns;
  const std::uint64_t most = turns_ahead(turns);
  const std::uint64_t round = common_round(turns.counters);
  if (round != 0 && most >= worth_looking(round) && turns.not_foreseen == 0) {
    const std::uint64_t alike = foresee(kind, device, asked);
    if (alike * 16 >= most) return device.now + kind.period * static_cast<std::int64_t>(alike + 1);
    turns.not_foreseen = 1;
  }
  const std::uint64_t quiet = quiet_ahead(kind, device, asked, watch, most);
  if (quiet == most) ++turns.ahead;
  return device.now + kind.period * static_cast<std::int64_t>(std::min(quiet + 1, most));
}

/// How many of the turns that come next were gone through and did nothing.
std::uint64_t FirmwareLogic::quiet_ahead(const Kind& kind, drybus_device& device, const FirmwareCall& asked,
                                         const TurnWatch& watch, std::uint64_t most) {
  const AsItWas restored{device, kind.turns_at};
  const Before before{kind, device};
  TurnWatch watched = watch;
  device.watch = &watched;
  device.now += kind.period;
  const std::span state{reinterpret_cast<std::byte*>(device.header) + state_at, kind.seat->state_size};
  return kind.seat->caller->go_ahead(asked, state, device.turns->counters, most, [&] {
    if (!before.is_quiet(watched)) return false;
    device.now += kind.period;
    return true;
  });
}

/// How many of them are proved to do nothing.
std::uint64_t FirmwareLogic::foresee(const Kind& kind, drybus_device& device, const FirmwareCall& asked) {
  const AsItWas restored{device, kind.turns_at};
  const Before before{kind, device};
  TurnWatch watched;
  device.watch = &watched;
  device.now += kind.period;
  const sim::Instant first = device.now;
  const std::span state{reinterpret_cast<std::byte*>(device.header) + state_at, kind.seat->state_size};
  const std::uint64_t alike =
      kind.seat->caller->foresee(asked, state, device.turns->counters, kind.period, [&] {
        device.now += kind.period;
        return !watched.fades && before.is_quiet(watched);
      });
  return std::min(alike,
                  turns_before(std::min(watched.wakes, first + furthest_foreseen), first, kind.period));
}

std::uint64_t FirmwareCaller::go_ahead(const FirmwareCall& call, std::span<std::byte> state,
                                       const TurnCounters& counters, std::uint64_t most,
                                       const std::function<bool()>& goes_on) {
  std::vector<std::byte> expected{state.begin(), state.end()};
  for (std::uint64_t done = 0; done < most; ++done) {
    count(counters, 1, expected);
    if (this->call(call, state) != nullptr || !std::equal(state.begin(), state.end(), expected.begin()) ||
        !goes_on())
      return done;
  }
  return most;
}

// --- for whoever drives the world ---

void FirmwareLogic::look_again(const DeviceTurn& turn, Effects& effects) {
  const Kind& mine = kind(turn.site.is_plate(turn.device));
  if (!mine.has_turns()) return;
  catch_up(mine, turn);
  const TurnState& turns = mine.turns_in(mine.block_in(turn.world, turn.device));
  effects.start(Ticking::turn_timer, next_turn(turns, mine.period, turn.world.now) - turn.world.now);
}

void FirmwareLogic::settle(const Site& site, World& world) const {
  for (DeviceId device = 0; device < site.device_count(); ++device) {
    const Kind& mine = kind(site.is_plate(device));
    if (!mine.has_turns() || world.devices[device].powered == 0) continue;
    std::byte* block = mine.block_in(world, device);
    model::settle(mine.turns_in(block), mine.state_in(block), mine.period, world.now);
  }
}

void FirmwareLogic::make_key(const Site& site, const World& world, DeviceId device,
                             std::span<std::uint64_t> block) const {
  const Kind& mine = kind(site.is_plate(device));
  if (!mine.has_turns()) return;
  auto* bytes = reinterpret_cast<std::byte*>(block.data());
  TurnState& turns = mine.turns_in(bytes);
  if (world.devices[device].powered == 0) {
    turns = {};
    return;
  }
  model::settle(turns, mine.state_in(bytes), mine.period, world.now);
  TurnState known;
  known.latest = sim::Instant{next_turn(turns, mine.period, world.now) - world.now};
  if ((turns.clock_counts & TurnState::power_clock) != 0) known.began = sim::Instant{world.now - turns.began};
  if ((turns.clock_counts & TurnState::run_clock) != 0)
    known.spare = static_cast<std::uint64_t>(world.now.time_since_epoch().count());
  known.clock_counts = turns.clock_counts;
  turns = known;
}

std::optional<sim::Instant> FirmwareLogic::next_change(const Site& site, const World& world,
                                                       DeviceId device) const {
  const Kind& mine = kind(site.is_plate(device));
  constexpr auto timer = static_cast<std::size_t>(Ticking::turn_timer);
  if (!mine.has_turns() || world.devices[device].timers[timer] == sim::EventQueue::none) return std::nullopt;
  World ahead = world;
  sim::Instant at = next_turn(mine.turns_in(mine.block_in(ahead, device)), mine.period, world.now);
  Stimulus due;
  due.kind = Stimulus::Kind::timer;
  due.timer = Ticking::turn_timer;
  due.contacts = world.devices[device].contacts;
  for (int turns = 0; turns < most_turns_to_change && at - world.now < furthest_change; ++turns) {
    ahead.now = at;
    Effects effects;
    drybus_device taker = device_of(mine, {site, ahead, device}, due, effects);
    const DeviceTurn turn{site, ahead, device};
    taker.turn = &turn;
    if (site.is_plate(device)) {
      taker.plate = &ahead.plates[device];
    } else {
      taker.module = &ahead.modules[site.module_index(device)];
    }
    try {
      take_turn(mine, taker);
    } catch (const FirmwareFault&) {
      take_back_said(0);
      return at;
    }
    take_back_said(0);
    const bool asks =
        std::any_of(effects.begin(), effects.end(), [](const Effect& each) { return !is_next_turn(each); });
    if (asks) return at - world.now < nearest_change ? std::nullopt : std::optional{at};
    if (effects.size() == 0) return std::nullopt;
    at += effects.begin()->duration;
  }
  return std::nullopt;
}

}  // namespace drybus::model
