#include "model/family/telegram.h"

#include <fmt/format.h>

#include <array>

namespace drybus::model {

namespace {
constexpr std::uint8_t frame_size = 7;
constexpr std::string_view name(TelegramKind kind) {
  switch (kind) {
    case TelegramKind::beacon:
      return "beacon";
    case TelegramKind::left:
      return "left";
    case TelegramKind::identify:
      return "identify";
    case TelegramKind::assign:
      return "assign";
    case TelegramKind::on:
      return "on";
    case TelegramKind::off:
      return "off";
    case TelegramKind::recall:
      return "recall";
    case TelegramKind::store:
      return "store";
    case TelegramKind::raise:
      return "raise";
    case TelegramKind::lower:
      return "lower";
    case TelegramKind::stop:
      return "stop";
    case TelegramKind::ask:
      return "ask";
  }
  return "?";
}
static_assert(name(TelegramKind{last_telegram_kind}) != "?" &&
                  name(TelegramKind{last_telegram_kind + 1}) == "?",
              "which kind is the last?");

/// Whom a command is for: "23/4", "23/4's group", "all of site 23".
std::string whom(const Telegram& telegram) {
  const std::string zone = fmt::format("{}/{}", telegram.site, telegram.zone);
  if (!is_command(telegram.kind) || is_for(telegram, Scope::zone)) return zone;
  if (is_for(telegram, Scope::group)) return zone + "'s group";
  if (is_for(telegram, Scope::site)) return fmt::format("all of site {}", telegram.site);
  return fmt::format("{} (unknown scope {})", zone, telegram.channel);
}

bool exists(std::uint8_t kind) {
  return kind >= 1 && kind <= last_telegram_kind;
}
}  // namespace

sim::Frame encode(const Telegram& telegram) {
  const std::array<std::uint8_t, 5> payload = {static_cast<std::uint8_t>(telegram.kind), telegram.site,
                                               telegram.zone, telegram.channel, telegram.argument};
  return sim::sealed(payload);
}

std::optional<Telegram> decode(const sim::Frame& frame) {
  if (frame.size != frame_size || !exists(frame.bytes[0]) || !sim::intact(frame)) return std::nullopt;
  return Telegram{static_cast<TelegramKind>(frame.bytes[0]), frame.bytes[1], frame.bytes[2], frame.bytes[3],
                  frame.bytes[4]};
}

std::uint64_t pack(const Telegram& telegram) {
  return static_cast<std::uint64_t>(telegram.kind) | std::uint64_t{telegram.site} << 8 |
         std::uint64_t{telegram.zone} << 16 | std::uint64_t{telegram.channel} << 24 |
         std::uint64_t{telegram.argument} << 32;
}

Telegram unpack(std::uint64_t packed) {
  const auto byte = [packed](int n) { return static_cast<std::uint8_t>(packed >> (8 * n)); };
  return {static_cast<TelegramKind>(byte(0)), byte(1), byte(2), byte(3), byte(4)};
}

std::string_view to_string(TelegramKind kind) {
  return name(kind);
}

std::string to_string(const Telegram& telegram) {
  switch (telegram.kind) {
    case TelegramKind::identify:
    case TelegramKind::assign:
      return fmt::format("{} {}/{}/{}", to_string(telegram.kind), telegram.site, telegram.zone,
                         telegram.channel);
    case TelegramKind::recall:
    case TelegramKind::store:
      return fmt::format("{} scene {} in {}", to_string(telegram.kind), telegram.argument, whom(telegram));
    case TelegramKind::beacon:
    case TelegramKind::left:
    case TelegramKind::on:
    case TelegramKind::off:
    case TelegramKind::raise:
    case TelegramKind::lower:
    case TelegramKind::stop:
    case TelegramKind::ask:
      return fmt::format("{} {}", to_string(telegram.kind), whom(telegram));
  }
  return fmt::format("unknown telegram {}", static_cast<int>(telegram.kind));
}

}  // namespace drybus::model
