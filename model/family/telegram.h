// One frame on the bus, and how it lies in bytes: kind, site, zone, channel, argument, CRC-16 (high byte first).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "sim/frame.h"

namespace drybus::model {

enum class TelegramKind : std::uint8_t {
  beacon = 1,    ///< a plate is in setup
  left = 2,      ///< a plate has left setup
  identify = 3,  ///< channel: which module shall show itself
  assign = 4,    ///< offers site, zone and channel to whoever is in setup
  on = 5,
  off = 6,
  recall = 7,  ///< argument: scene, from 1
  store = 8,   ///< argument: scene, from 1
  raise = 9,
  lower = 10,
  stop = 11,  ///< ends raise and lower
  ask = 12,   ///< a module asks for an address
};

inline constexpr std::uint8_t last_telegram_kind = 12;

/// Whom a command is for. It lies in the byte where other telegrams have their channel.
enum class Scope : std::uint8_t {
  zone = 0,   ///< the zone that is named
  group = 1,  ///< every zone of the group that the named zone is in; each family has groups of its own size
  site = 2,   ///< every zone of the site
};
inline constexpr std::uint8_t last_scope = 2;

/// What buttons say in normal mode: something for the load.
constexpr bool is_command(TelegramKind kind) {
  return kind >= TelegramKind::on && kind <= TelegramKind::stop;
}

struct Telegram {
  TelegramKind kind = TelegramKind::beacon;
  std::uint8_t site = 0;
  std::uint8_t zone = 0;
  std::uint8_t channel = 0;
  std::uint8_t argument = 0;
  friend bool operator==(const Telegram&, const Telegram&) = default;
};

/// Whether it can give a module an address: zone 0 is in none.
constexpr bool offers_address(const Telegram& telegram) {
  return telegram.kind == TelegramKind::assign && telegram.zone != 0;
}

/// Nothing but what is a command can be for more than a zone; of a scope that does not exist nobody is meant.
constexpr bool is_for(const Telegram& telegram, Scope scope) {
  if (!is_command(telegram.kind)) return scope == Scope::zone;
  return telegram.channel == static_cast<std::uint8_t>(scope);
}
/// A command for more than one zone: what a master key sends.
constexpr bool is_for_many(const Telegram& telegram) {
  return is_for(telegram, Scope::group) || is_for(telegram, Scope::site);
}

sim::Frame encode(const Telegram& telegram);

/// Nothing when the frame has another length, a kind that does not exist, or a CRC that does not fit.
std::optional<Telegram> decode(const sim::Frame& frame);

/// A telegram in one number, for the record; `unpack(pack(t)) == t`.
std::uint64_t pack(const Telegram& telegram);
Telegram unpack(std::uint64_t packed);

/// "assign 23/4/1", "recall scene 2 in 23/4", "off 23/4's group", "off all of site 23": as files have it.
std::string to_string(const Telegram& telegram);
std::string_view to_string(TelegramKind kind);
/// The same to people, in the words that this thread speaks.
std::string spoken(const Telegram& telegram);
std::string spoken(TelegramKind kind);

}  // namespace drybus::model
