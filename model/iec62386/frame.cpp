#include "model/iec62386/frame.h"

#include <fmt/format.h>

#include "model/words/words.h"

namespace drybus::iec62386 {

using model::tr;
using model::tr_as;

namespace {

/// 0AAAAAAS one, 100GGGGS a group, 1111111S all, 1111110S those without a short address.
std::optional<Target> target_of(std::uint8_t first) {
  if (first < 0x80) return Target{Target::Kind::one, static_cast<std::uint8_t>(first >> 1U)};
  if (first < 0xA0) return Target{Target::Kind::group, static_cast<std::uint8_t>((first >> 1U) & 15U)};
  if (first >= 0xFE) return Target{Target::Kind::all, 0};
  if (first >= 0xFC) return Target{Target::Kind::unaddressed, 0};
  return std::nullopt;
}

std::uint8_t first_byte(const Target& target, bool command) {
  const auto last = static_cast<unsigned>(command ? 1 : 0);
  switch (target.kind) {
    case Target::Kind::all:
      return static_cast<std::uint8_t>(0xFEU | last);
    case Target::Kind::unaddressed:
      return static_cast<std::uint8_t>(0xFCU | last);
    case Target::Kind::group:
      return static_cast<std::uint8_t>(0x80U | (unsigned{target.number} << 1U) | last);
    case Target::Kind::one:
      break;
  }
  return static_cast<std::uint8_t>((unsigned{target.number} << 1U) | last);
}

BitFrame forward(std::uint8_t first, std::uint8_t second) {
  return {(std::uint32_t{first} << 8U) | second, 16};
}

std::string special_in_words(const Said& said) {
  const Command& command = *said.command;
  if (!command.is(takes_value)) return std::string{command.name};
  const bool address = command.op == Op::program_short || command.op == Op::verify_short;
  if (address && short_of(said.value))
    return *short_of(said.value) == no_short
               ? fmt::format("{}: {}", command.name, tr_as("short address", "none"))
               : fmt::format("{}: {}", command.name, *short_of(said.value));
  if (command.op == Op::initialise) {
    if (said.value == 0) return tr("initialise all");
    if (said.value == 0xFF) return tr("initialise those without an address");
    return short_of(said.value) ? tr("initialise short address {}", *short_of(said.value))
                                : fmt::format("initialise {:02X}", said.value);
  }
  const bool search =
      command.op == Op::search_high || command.op == Op::search_middle || command.op == Op::search_low;
  return search ? fmt::format("{} {:02X}", command.name, said.value)
                : fmt::format("{} {}", command.name, said.value);
}

std::string said_to(const std::string& what, const Target& target) {
  switch (target.kind) {
    case Target::Kind::all:
      return tr("{} to all", what);
    case Target::Kind::unaddressed:
      return tr("{} to those without an address", what);
    case Target::Kind::group:
      return tr("{} to group {}", what, target.number);
    case Target::Kind::one:
      break;
  }
  return tr("{} to short address {}", what, target.number);
}

}  // namespace

Said read(const BitFrame& frame) {
  const auto first = static_cast<std::uint8_t>(frame.data >> 8U);
  Said said;
  said.value = static_cast<std::uint8_t>(frame.data);
  const auto target = target_of(first);
  if (!target) {
    said.special = true;
    said.command = find_special(first);
    return said;
  }
  said.target = *target;
  said.command = (first & 1U) == 0 ? &level_command : find_opcode(said.value);
  if (said.command != nullptr && said.command->is(numbered))
    said.number = static_cast<std::uint8_t>(said.value - said.command->code);
  return said;
}

BitFrame level_frame(const Target& target, std::uint8_t level) {
  return forward(first_byte(target, false), level);
}
BitFrame command_frame(const Target& target, std::uint8_t opcode) {
  return forward(first_byte(target, true), opcode);
}
BitFrame special_frame(std::uint8_t code, std::uint8_t value) {
  return forward(code, value);
}
BitFrame answer_frame(std::uint8_t value) {
  return {value, 8};
}

std::uint8_t coded_short(ShortAddress address) {
  return address == no_short ? std::uint8_t{0xFF} : static_cast<std::uint8_t>((unsigned{address} << 1U) | 1U);
}

std::optional<ShortAddress> short_of(std::uint8_t coded) {
  if (coded == 0xFF) return no_short;
  if (coded < 0x80 && (coded & 1U) != 0) return static_cast<ShortAddress>(coded >> 1U);
  return std::nullopt;
}

std::string in_words(const BitFrame& frame) {
  if (frame.bits == 8) return tr("answer {}", frame.data);
  if (frame.bits != 16)
    return tr("{} bits {}", frame.bits, fmt::format("{:0{}X}", frame.data, (frame.bits + 3) / 4));
  const Said said = read(frame);
  if (said.command == nullptr) return tr("{:04X}, which nobody knows", frame.data);
  if (said.special) return special_in_words(said);
  if (said.command->op == Op::level) return said_to(tr("level {}", said.value), said.target);
  std::string name{said.command->name};
  if (said.command->is(numbered)) name += fmt::format(" {}", said.number);
  if (said.command->op == Op::of_type) name += fmt::format(" {:02X}", said.value);
  return said_to(name, said.target);
}

}  // namespace drybus::iec62386
