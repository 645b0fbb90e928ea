// What is carried: a few bytes, sealed with a CRC.
#pragma once

#include <array>
#include <cstdint>
#include <span>

namespace drybus::sim {

/// A frame on the medium: up to 15 bytes, of which the last two are the CRC.
struct Frame {
  std::uint8_t size = 0;
  std::array<std::uint8_t, 15> bytes{};
  friend bool operator==(const Frame&, const Frame&) = default;
};

/// CRC-16/XMODEM (polynomial 0x1021, initial 0) of `bytes`, by Boost.CRC.
std::uint16_t crc16(std::span<const std::uint8_t> bytes);

/// The frame that carries `payload` (at most 13 bytes), CRC appended high byte first.
Frame sealed(std::span<const std::uint8_t> payload);

/// True when the frame's CRC fits its bytes.
bool intact(const Frame& frame);

}  // namespace drybus::sim
