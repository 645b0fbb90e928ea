#include "sim/frame.h"

#include <algorithm>
#include <boost/crc.hpp>
#include <cassert>
#include <cstddef>

namespace drybus::sim {

std::uint16_t crc16(std::span<const std::uint8_t> bytes) {
  boost::crc_xmodem_t crc;
  crc.process_bytes(bytes.data(), bytes.size());
  return crc.checksum();
}

Frame sealed(std::span<const std::uint8_t> payload) {
  Frame frame;
  assert(payload.size() + 2 <= frame.bytes.size());
  std::copy(payload.begin(), payload.end(), frame.bytes.begin());
  const std::uint16_t crc = crc16(payload);
  frame.bytes[payload.size()] = static_cast<std::uint8_t>(crc >> 8);
  frame.bytes[payload.size() + 1] = static_cast<std::uint8_t>(crc & 0xff);
  frame.size = static_cast<std::uint8_t>(payload.size() + 2);
  return frame;
}

bool intact(const Frame& frame) {
  if (frame.size < 3) return false;
  const std::size_t length = frame.size - 2u;
  const std::uint16_t crc = crc16(std::span{frame.bytes}.first(length));
  return frame.bytes[length] == crc >> 8 && frame.bytes[length + 1] == (crc & 0xff);
}

}  // namespace drybus::sim
