#include "tools/bridge/slip.h"

#include <utility>

namespace drybus::tools {

std::vector<std::uint8_t> slip_encoded(std::span<const std::uint8_t> packet) {
  std::vector<std::uint8_t> out{slip_end};
  for (const std::uint8_t byte : packet) {
    if (byte == slip_end || byte == slip_escape) {
      out.push_back(slip_escape);
      out.push_back(byte == slip_end ? slip_escaped_end : slip_escaped_escape);
    } else {
      out.push_back(byte);
    }
  }
  out.push_back(slip_end);
  return out;
}

void SlipDecoder::put(std::uint8_t byte) {
  if (packet_.bytes.size() < longest_) {
    packet_.bytes.push_back(byte);
  } else {
    packet_.too_long = true;
  }
}

std::optional<SlipDecoder::Packet> SlipDecoder::take(std::uint8_t byte) {
  if (byte == slip_end) {
    packet_.violation = packet_.violation || escaped_;
    escaped_ = false;
    Packet whole = std::exchange(packet_, {});
    if (whole.bytes.empty() && !whole.violation) return std::nullopt;
    return whole;
  }
  if (escaped_) {
    escaped_ = false;
    if (byte == slip_escaped_end) {
      put(slip_end);
    } else if (byte == slip_escaped_escape) {
      put(slip_escape);
    } else {
      packet_.violation = true;
      put(byte);
    }
  } else if (byte == slip_escape) {
    escaped_ = true;
  } else {
    put(byte);
  }
  return std::nullopt;
}

}  // namespace drybus::tools
