// Forward frames of 16 bits, to control gear, and answers of 8: who is meant, and what is said, in bits and in words.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "model/iec62386/commands.h"
#include "sim/biphase.h"

namespace drybus::iec62386 {

using sim::BitFrame;

/// A gear's short address, 0 to 63; 255: it has none.
using ShortAddress = std::uint8_t;
inline constexpr ShortAddress no_short = 255;
inline constexpr unsigned short_addresses = 64;

/// To whom a frame is said.
struct Target {
  enum class Kind : std::uint8_t { all, unaddressed, group, one };
  Kind kind = Kind::all;
  std::uint8_t number = 0;  ///< of the group or the short address
  friend bool operator==(const Target&, const Target&) = default;
};

/// A frame taken apart.
struct Said {
  bool special = false;              ///< to all, with a code of its own
  Target target;                     ///< when not special
  const Command* command = nullptr;  ///< null: nothing that is known
  std::uint8_t number = 0;           ///< of a scene or a group
  std::uint8_t value = 0;            ///< the second byte
};

/// REQUIRES: a frame of 16 bits.
Said read(const BitFrame& frame);

BitFrame level_frame(const Target& target, std::uint8_t level);
BitFrame command_frame(const Target& target, std::uint8_t opcode);
BitFrame special_frame(std::uint8_t code, std::uint8_t value = 0);
BitFrame answer_frame(std::uint8_t value);
/// YES is FF; NO is silence.
inline constexpr std::uint8_t yes = 0xFF;

/// How PROGRAM, VERIFY, INITIALISE and SET SHORT ADDRESS write a short address: 0AAAAAA1, FF for none.
std::uint8_t coded_short(ShortAddress address);
/// And back; nothing for a byte that is neither.
std::optional<ShortAddress> short_of(std::uint8_t coded);

/// A frame in words: "set scene 3 to group 2", "compare", "answer 254", "24 bits 01FE30".
std::string in_words(const BitFrame& frame);

}  // namespace drybus::iec62386
