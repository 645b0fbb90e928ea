#include "tools/bridge/message.h"

#include <fmt/format.h>

#include <boost/json.hpp>
#include <charconv>

#include "model/family/telegram.h"
#include "model/words/words.h"
#include "tools/base/json_text.h"
#include "tools/base/reason.h"

namespace drybus::tools {

using model::tr;

namespace json = boost::json;
using model::OutsideAct;

namespace {

// --- packets ---

void put_number(Bytes& bytes, std::uint64_t value, int count) {
  for (int i = count - 1; i >= 0; --i) bytes.push_back(static_cast<std::uint8_t>(value >> (8 * i)));
}

std::uint64_t number_at(const Bytes& bytes, std::size_t at, std::size_t count) {
  std::uint64_t value = 0;
  for (std::size_t i = 0; i < count; ++i) value = value << 8 | bytes[at + i];
  return value;
}

std::uint64_t ns_of(sim::Instant at) {
  return static_cast<std::uint64_t>(at.time_since_epoch().count());
}

char type_of(Outgoing::Kind kind) {
  switch (kind) {
    case Outgoing::Kind::hello:
      return 'H';
    case Outgoing::Kind::power:
      return 'P';
    case Outgoing::Kind::contact:
      return 'C';
    case Outgoing::Kind::frame:
      return 'F';
    case Outgoing::Kind::time:
      return 'T';
    case Outgoing::Kind::bye:
      return 'B';
  }
  return '?';
}

constexpr std::size_t head = 9;

std::variant<OutsideAct, Unreadable> act_of_frame(std::span<const std::uint8_t> bytes) {
  if (bytes.size() != 5 && bytes.size() != 7)
    return Unreadable{tr("a frame has 5 bytes, or 7 with its CRC, not {}", bytes.size())};
  if (bytes[0] < 1 || bytes[0] > model::last_telegram_kind)
    return Unreadable{tr("there is no kind of telegram {}", bytes[0])};
  OutsideAct act;
  act.kind = OutsideAct::Kind::send;
  act.telegram = {static_cast<model::TelegramKind>(bytes[0]), bytes[1], bytes[2], bytes[3], bytes[4]};
  const sim::Frame frame = model::encode(act.telegram);
  if (bytes.size() == 7 && (bytes[5] != frame.bytes[5] || bytes[6] != frame.bytes[6])) {
    return Unreadable{tr("the CRC of the frame is {:02x} {:02x}, and should be {:02x} {:02x}", bytes[5],
                         bytes[6], frame.bytes[5], frame.bytes[6])};
  }
  return act;
}

std::variant<OutsideAct, Unreadable> act_of(char type, std::span<const std::uint8_t> rest) {
  OutsideAct act;
  const auto has = [&](std::size_t count) { return rest.size() == count; };
  if (type == 'F') return act_of_frame(rest);
  if (type == 'I' && has(1) && rest[0] <= static_cast<std::uint8_t>(model::Pattern::refuse)) {
    act.kind = OutsideAct::Kind::show;
    act.pattern = static_cast<model::Pattern>(rest[0]);
    return act;
  }
  if (type == 'L' && has(6)) {
    act.kind = OutsideAct::Kind::level;
    act.level = static_cast<model::Level>(rest[0] << 8 | rest[1]);
    const Bytes within{rest.begin() + 2, rest.end()};
    act.within = std::chrono::milliseconds{number_at(within, 0, 4)};
    if (act.level <= model::full_level) return act;
  }
  if (type == 'M' && has(2) && rest[0] <= 1 &&
      rest[1] <= static_cast<std::uint8_t>(model::ModeReason::power)) {
    act.kind = OutsideAct::Kind::mode;
    act.mode = static_cast<model::Mode>(rest[0]);
    act.reason = static_cast<model::ModeReason>(rest[1]);
    return act;
  }
  if (type == 'S' && has(4) && rest[3] <= static_cast<std::uint8_t>(model::PowerUp::last)) {
    act.kind = OutsideAct::Kind::stored;
    act.address = {rest[0], rest[1], rest[2]};
    act.power_up = static_cast<model::PowerUp>(rest[3]);
    return act;
  }
  const bool known = std::string_view{"ILMS"}.find(type) != std::string_view::npos;
  return Unreadable{known ? tr("a message of type '{}' that says what cannot be", type)
                          : tr("there is no type of message {:#04x}", static_cast<unsigned char>(type))};
}

// --- lines ---

std::string hex_text(const model::Telegram& telegram) {
  const sim::Frame frame = model::encode(telegram);
  std::string text;
  for (std::size_t i = 0; i < frame.size; ++i)
    text += fmt::format("{}{:02x}", i == 0 ? "" : " ", frame.bytes[i]);
  return text;
}

std::optional<Bytes> bytes_of_hex(std::string_view text) {
  Bytes bytes;
  for (std::size_t at = 0; at < text.size();) {
    if (text[at] == ' ') {
      ++at;
      continue;
    }
    std::uint8_t byte = 0;
    const char* begin = text.data() + at;
    const char* end = text.data() + std::min(at + 2, text.size());
    if (std::from_chars(begin, end, byte, 16).ptr != begin + 2) return std::nullopt;
    bytes.push_back(byte);
    at += 2;
  }
  return bytes;
}

std::optional<model::Address> address_of(std::string_view text) {
  std::array<std::uint8_t, 3> parts{};
  const char* at = text.data();
  const char* end = at + text.size();
  for (std::size_t i = 0; i < 3; ++i) {
    const auto [next, error] = std::from_chars(at, end, parts[i]);
    if (error != std::errc{} || (i < 2 && (next == end || *next != '/')) || (i == 2 && next != end))
      return std::nullopt;
    at = next + (i < 2 ? 1 : 0);
  }
  return model::Address{parts[0], parts[1], parts[2]};
}

template <class Enum>
std::optional<Enum> word_of(const json::object& object, const char* key) {
  const json::value* word = object.if_contains(key);
  if (word == nullptr || !word->is_string()) return std::nullopt;
  for (const Enum each : sim::all_of<Enum>()) {
    if (to_string(each) == std::string_view{word->get_string()}) return each;
  }
  return std::nullopt;
}

std::optional<double> number_of(const json::object& object, const char* key, double most) {
  const json::value* value = object.if_contains(key);
  if (value == nullptr || !value->is_number()) return std::nullopt;
  const auto number = value->to_number<double>();
  return number >= 0 && number <= most ? std::optional{number} : std::nullopt;
}

constexpr double longest_fade_ms = 4.0e9;

std::variant<OutsideAct, Unreadable> act_of(const json::object& object) {
  OutsideAct act;
  if (const json::value* frame = object.if_contains("frame")) {
    const auto bytes = frame->is_string() ? bytes_of_hex(frame->get_string()) : std::nullopt;
    if (!bytes) return Unreadable{tr("\"frame\" is bytes in hexadecimal, such as \"05 17 04 01 00\"")};
    return act_of_frame(*bytes);
  }
  if (object.contains("show")) {
    const auto pattern = word_of<model::Pattern>(object, "show");
    if (!pattern) return Unreadable{tr("\"show\" is dark, blip, breathe, blink, steady or refuse")};
    act.kind = OutsideAct::Kind::show;
    act.pattern = *pattern;
    return act;
  }
  if (object.contains("level")) {
    const auto percent = number_of(object, "level", 100);
    const auto fade_ms = object.contains("fade_ms") ? number_of(object, "fade_ms", longest_fade_ms) : 0.0;
    if (!percent || !fade_ms)
      return Unreadable{tr("\"level\" is 0 to 100, and \"fade_ms\" a number of milliseconds")};
    act.kind = OutsideAct::Kind::level;
    act.level = static_cast<model::Level>(*percent * 10 + 0.5);
    act.within = std::chrono::milliseconds{static_cast<std::int64_t>(*fade_ms)};
    return act;
  }
  if (object.contains("mode")) {
    const auto mode = word_of<model::Mode>(object, "mode");
    if (!mode) return Unreadable{tr("\"mode\" is normal or setup")};
    act.kind = OutsideAct::Kind::mode;
    act.mode = *mode;
    act.reason = *mode == model::Mode::setup ? model::ModeReason::gesture : model::ModeReason::button;
    return act;
  }
  if (const json::value* stored = object.if_contains("stored")) {
    const auto address = stored->is_string() ? address_of(stored->get_string()) : std::nullopt;
    if (!address) return Unreadable{tr("\"stored\" is an address, such as \"23/4/1\"")};
    act.kind = OutsideAct::Kind::stored;
    act.address = *address;
    if (object.contains("power_up")) {
      bool known = false;
      for (const auto each : {model::PowerUp::off, model::PowerUp::full, model::PowerUp::last}) {
        if (object.at("power_up") != json::value(to_string(each))) continue;
        act.power_up = each;
        known = true;
      }
      if (!known) return Unreadable{tr("\"power_up\" is off, full or last")};
    }
    return act;
  }
  return Unreadable{tr("expected one of: frame, show, level, mode, stored, nothing")};
}

}  // namespace

Bytes to_packet(const Outgoing& message) {
  Bytes bytes{static_cast<std::uint8_t>(type_of(message.kind))};
  put_number(bytes, ns_of(message.at), 8);
  switch (message.kind) {
    case Outgoing::Kind::hello:
      bytes.push_back(1);
      bytes.push_back(message.plate ? 1 : 2);
      bytes.push_back(static_cast<std::uint8_t>(message.pace));
      bytes.insert(bytes.end(), message.text.begin(), message.text.end());
      break;
    case Outgoing::Kind::power:
      bytes.push_back(message.on ? 1 : 0);
      break;
    case Outgoing::Kind::contact:
      bytes.push_back(message.button);
      bytes.push_back(message.on ? 1 : 0);
      break;
    case Outgoing::Kind::frame: {
      const sim::Frame frame = model::encode(message.telegram);
      bytes.insert(bytes.end(), frame.bytes.begin(), frame.bytes.begin() + frame.size);
      break;
    }
    case Outgoing::Kind::time:
      put_number(bytes, ns_of(message.until), 8);
      break;
    case Outgoing::Kind::bye:
      bytes.insert(bytes.end(), message.text.begin(), message.text.end());
      break;
  }
  return bytes;
}

std::variant<Incoming, Unreadable> from_packet(const Bytes& packet) {
  if (packet.size() < head) return Unreadable{tr("a message of {} bytes; the shortest has 9", packet.size())};
  const auto type = static_cast<char>(packet[0]);
  const std::uint64_t ns = number_at(packet, 1, 8);
  Incoming incoming;
  // All ones, and whatever no run reaches: as it comes.
  incoming.at =
      ns < ns_of(sim::never) ? sim::Instant{sim::Duration{static_cast<std::int64_t>(ns)}} : as_it_comes;
  if (type == 'N') {
    if (packet.size() != head) return Unreadable{tr("'N' has nothing after its time")};
    return incoming;
  }
  auto act = act_of(type, std::span{packet}.subspan(head));
  if (auto* unreadable = std::get_if<Unreadable>(&act)) return *unreadable;
  incoming.act = std::get<OutsideAct>(act);
  return incoming;
}

std::string to_line(const Outgoing& message) {
  const model::Speaking english{nullptr};  // programs read it
  json::object object{{"t_ns", ns_of(message.at)}};
  switch (message.kind) {
    case Outgoing::Kind::hello:
      object["hello"] = "drybus bridge 1";
      object["device"] = message.text;
      object["kind"] = message.plate ? "plate" : "module";
      object["pace"] = message.pace == Pace::lock_step ? "lock-step" : "real-time";
      break;
    case Outgoing::Kind::power:
      object["power"] = message.on ? "on" : "off";
      break;
    case Outgoing::Kind::contact:
      object["contact"] = message.button;
      object["closed"] = message.on;
      break;
    case Outgoing::Kind::frame:
      object["frame"] = hex_text(message.telegram);
      object["text"] = to_string(message.telegram);
      break;
    case Outgoing::Kind::time:
      object["until_ns"] = ns_of(message.until);
      break;
    case Outgoing::Kind::bye:
      object["bye"] = message.text;
      break;
  }
  return json_text(object) + "\n";
}

std::variant<Incoming, Unreadable> from_line(std::string_view line) {
  try {
    const json::value value = json::parse(json::string_view{line.data(), line.size()});
    if (!value.is_object()) return Unreadable{tr("a line is one JSON object")};
    const json::object& object = value.get_object();
    Incoming incoming{as_it_comes, {}};
    if (const json::value* at = object.if_contains("t_ns"))
      incoming.at = sim::Instant{sim::Duration{json::value_to<std::int64_t>(*at)}};
    if (incoming.at >= sim::never) incoming.at = as_it_comes;
    if (object.contains("nothing")) return incoming;
    auto act = act_of(object);
    if (auto* unreadable = std::get_if<Unreadable>(&act)) return *unreadable;
    incoming.act = std::get<OutsideAct>(act);
    return incoming;
  } catch (const std::exception& error) {
    return Unreadable{reason_of(error)};
  }
}

}  // namespace drybus::tools
