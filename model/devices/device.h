// What plates and modules have in common: names, timers, stimuli and effects. A device's reaction is a pure function
// of its family, its state and one stimulus; the effects it returns are carried out by whoever drives it.
#pragma once

#include <array>
#include <cassert>
#include <cstdint>
#include <string_view>

#include "model/family/family.h"
#include "model/family/telegram.h"
#include "sim/enumeration.h"
#include "sim/time.h"

namespace drybus::model {

/// Names a device of a site: plates first, then modules, each in the order of the site. Also its node on the medium.
using DeviceId = std::uint32_t;
inline constexpr DeviceId no_device = 0xffff'ffff;

/// Why setup ended or began.
enum class ModeReason : std::uint8_t { gesture, button, time_out, assigned, power };

/// A load's level in tenths of a percent.
using Level = std::uint16_t;
inline constexpr Level full_level = 1000;

struct Stimulus {
  enum class Kind : std::uint8_t { power_on, contacts, telegram, timer };
  Kind kind = Kind::power_on;
  Timer timer = Timer::debounce;  ///< for Kind::timer: which one came due
  Buttons contacts = 0;           ///< the buttons that are down now, bouncing and all
  Button button = no_button;      ///< for Kind::contacts: whose contact it was,
  bool closed = false;            ///< and whether it closed
  bool intact = true;             ///< for Kind::telegram: see DeviceLogic::hears_damaged
  std::uint16_t crc = 0;          ///< for Kind::telegram, as received; 0 unless a DeviceLogic reacts
  Buttons settled = 0;  ///< for a plate's Timer::debounce: which buttons' contacts may be read again
  Level level = 0;      ///< of a module's load, now; the flash of an identification apart
  Telegram telegram{};  ///< for Kind::telegram
};

/// What a device tells about itself, for the record; no device can hear it.
enum class Told : std::uint8_t {
  mode,            ///< a: Mode, b: ModeReason
  channel,         ///< a: channel
  gesture,         ///< a gesture was held long enough
  refused,         ///< a: Refusal
  assign_ignored,  ///< an assign was heard in normal mode
  store_begun,     ///< memory is being written
  stored,          ///< memory was written
  power_up,        ///< a: PowerUp
  blips_awake,     ///< a: 1 awake, 0 asleep
  blip_unshown,    ///< a telegram was heard while blips slept
  obeyed,          ///< a telegram changed the load
};

struct Effect {
  enum class Kind : std::uint8_t {
    start_timer,
    stop_timer,
    settle,
    send,
    show,
    fade,
    flash,
    flash_over,
    tell
  };
  Kind kind = Kind::tell;
  std::uint8_t which = 0;    ///< Timer, Pattern or Told
  std::uint16_t value = 0;   ///< settle: Buttons; fade, flash: Level; tell: a
  std::uint32_t detail = 0;  ///< tell: b
  sim::Duration duration{};  ///< start_timer, settle, fade
  Telegram telegram{};       ///< send
};

/// A reaction's effects, in order. No reaction has more than `capacity`.
class Effects {
 public:
  static constexpr std::size_t capacity = 40;

  Effects() {}  // NOLINT: `= default` would be deleted, for the union

  void start(Timer timer, sim::Duration duration) {
    add({Effect::Kind::start_timer, static_cast<std::uint8_t>(timer), 0, 0, duration, {}});
  }
  void stop(Timer timer) { add({Effect::Kind::stop_timer, static_cast<std::uint8_t>(timer), 0, 0, {}, {}}); }
  /// Timer::debounce comes due for just these buttons, whatever it is running for besides.
  void settle(Buttons buttons, sim::Duration duration) {
    add({Effect::Kind::settle, static_cast<std::uint8_t>(Timer::debounce), buttons, 0, duration, {}});
  }
  void send(const Telegram& telegram) { add({Effect::Kind::send, 0, 0, 0, {}, telegram}); }
  void show(Pattern pattern) { add({Effect::Kind::show, static_cast<std::uint8_t>(pattern), 0, 0, {}, {}}); }
  /// The load goes to `level` at an even pace within `duration`, from where it is; a flash is over with it.
  void fade(Level level, sim::Duration duration) { add({Effect::Kind::fade, 0, level, 0, duration, {}}); }
  /// The load shows `level` for the time being, and goes on beneath as it did.
  void flash(Level level) { add({Effect::Kind::flash, 0, level, 0, {}, {}}); }
  void flash_over() { add({Effect::Kind::flash_over, 0, 0, 0, {}, {}}); }
  void tell(Told told, std::uint16_t a = 0, std::uint32_t b = 0) {
    add({Effect::Kind::tell, static_cast<std::uint8_t>(told), a, b, {}, {}});
  }

  [[nodiscard]] const Effect* begin() const { return effects_.data(); }
  [[nodiscard]] const Effect* end() const { return effects_.data() + count_; }
  [[nodiscard]] std::size_t size() const { return count_; }
  void clear() { count_ = 0; }

 private:
  void add(const Effect& effect) {
    assert(count_ < capacity);
    effects_[count_++] = effect;
  }
  /// A union, so that the entries beyond the count are never filled in: a reaction is made for every event there is.
  union {
    std::array<Effect, capacity> effects_;
  };
  std::size_t count_ = 0;
};

std::string_view to_string(Mode mode);
std::string_view to_string(Pattern pattern);
std::string_view to_string(PowerUp power_up);
std::string_view to_string(Timer timer);

}  // namespace drybus::model
