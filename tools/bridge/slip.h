// SLIP, RFC 1055: packets on a byte stream, each ended by END; END and ESC within are written as two bytes.
#pragma once

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace drybus::tools {

inline constexpr std::uint8_t slip_end = 0300;
inline constexpr std::uint8_t slip_escape = 0333;
inline constexpr std::uint8_t slip_escaped_end = 0334;
inline constexpr std::uint8_t slip_escaped_escape = 0335;

/// With an END at either end, as the RFC advises: what noise left on the line is then a packet of its own.
std::vector<std::uint8_t> slip_encoded(std::span<const std::uint8_t> packet);

/// Takes packets out of a stream, however it is cut.
class SlipDecoder {
 public:
  explicit SlipDecoder(std::size_t longest) : longest_(longest) {}

  struct Packet {
    std::vector<std::uint8_t> bytes;
    bool too_long = false;   ///< what is beyond `longest` was passed over
    bool violation = false;  ///< an ESC was followed by neither of its two bytes
  };
  /// A packet, when this byte ends one; empty ones do not count.
  std::optional<Packet> take(std::uint8_t byte);

 private:
  void put(std::uint8_t byte);

  std::size_t longest_;
  Packet packet_;
  bool escaped_ = false;
};

}  // namespace drybus::tools
