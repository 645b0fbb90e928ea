#include "model/family/telegram.h"

#include <fmt/format.h>

#include <array>

#include "model/words/words.h"

namespace drybus::model {

namespace {
constexpr std::uint8_t frame_size = 7;
constexpr std::string_view name(TelegramKind kind) {
  switch (kind) {
    case TelegramKind::beacon:
      return msg_as("telegram", "beacon");
    case TelegramKind::left:
      return msg_as("telegram", "left");
    case TelegramKind::identify:
      return msg_as("telegram", "identify");
    case TelegramKind::assign:
      return msg_as("telegram", "assign");
    case TelegramKind::on:
      return msg_as("telegram", "on");
    case TelegramKind::off:
      return msg_as("telegram", "off");
    case TelegramKind::recall:
      return msg_as("telegram", "recall");
    case TelegramKind::store:
      return msg_as("telegram", "store");
    case TelegramKind::raise:
      return msg_as("telegram", "raise");
    case TelegramKind::lower:
      return msg_as("telegram", "lower");
    case TelegramKind::stop:
      return msg_as("telegram", "stop");
    case TelegramKind::ask:
      return msg_as("telegram", "ask");
  }
  return "?";
}
static_assert(name(TelegramKind{last_telegram_kind}) != "?" &&
                  name(TelegramKind{last_telegram_kind + 1}) == "?",
              "which kind is the last?");

/// "on 23/4", "on 23/4's group", "on all of site 23"
std::string to_whom(const std::string& command, const Telegram& telegram) {
  if (!is_command(telegram.kind) || is_for(telegram, Scope::zone))
    return fmt::format("{} {}/{}", command, telegram.site, telegram.zone);
  if (is_for(telegram, Scope::group)) return tr("{} {}/{}'s group", command, telegram.site, telegram.zone);
  if (is_for(telegram, Scope::site)) return tr("{} all of site {}", command, telegram.site);
  return tr("{} {}/{} (unknown scope {})", command, telegram.site, telegram.zone, telegram.channel);
}

/// "recall scene 2 in 23/4"
std::string in_whose_scene(const std::string& command, const Telegram& telegram) {
  if (is_for(telegram, Scope::zone)) return tr("{} in {}/{}", command, telegram.site, telegram.zone);
  if (is_for(telegram, Scope::group)) return tr("{} in {}/{}'s group", command, telegram.site, telegram.zone);
  if (is_for(telegram, Scope::site)) return tr("{} in all of site {}", command, telegram.site);
  return tr("{} in {}/{} (unknown scope {})", command, telegram.site, telegram.zone, telegram.channel);
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

std::string spoken(TelegramKind kind) {
  return std::string{in_words_spoken(name(kind), "telegram")};
}

std::string spoken(const Telegram& telegram) {
  switch (telegram.kind) {
    case TelegramKind::identify:
    case TelegramKind::assign:
      return fmt::format("{} {}/{}/{}", spoken(telegram.kind), telegram.site, telegram.zone,
                         telegram.channel);
    case TelegramKind::recall:
      return in_whose_scene(tr("recall scene {}", telegram.argument), telegram);
    case TelegramKind::store:
      return in_whose_scene(tr("store scene {}", telegram.argument), telegram);
    case TelegramKind::beacon:
    case TelegramKind::left:
    case TelegramKind::on:
    case TelegramKind::off:
    case TelegramKind::raise:
    case TelegramKind::lower:
    case TelegramKind::stop:
    case TelegramKind::ask:
      return to_whom(spoken(telegram.kind), telegram);
  }
  return tr("unknown telegram {}", static_cast<int>(telegram.kind));
}

std::string to_string(const Telegram& telegram) {
  const Speaking english{nullptr};
  return spoken(telegram);
}

}  // namespace drybus::model
