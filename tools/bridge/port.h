// The line to the device at the other end of a bridge: a serial port, or a socket that it connects to. Messages go out and
// come in whole; what is wrong with the line or its bytes is told, and everything is bounded.
#pragma once

#include <chrono>
#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <variant>

#include "tools/bridge/message.h"

namespace drybus::tools {

/// Where the device is. "unix:PATH", "tcp:HOST:PORT" (0: any port that is free), or the path of a serial port.
struct Where {
  enum class Kind : std::uint8_t { serial, local_socket, tcp };
  Kind kind = Kind::serial;
  std::string path;  ///< or host
  std::uint16_t port = 0;
};
/// Throws Unusable.
Where parse_where(const std::string& text);

struct PortOptions {
  Where where;
  bool lines = false;            ///< JSON Lines, else SLIP
  bool from_anywhere = false;    ///< else TCP takes loopback addresses only
  std::uint32_t baud = 115'200;  ///< of a serial port
};

/// The line is gone, or its end does what is out of bounds; why, as a clause: "the device closed the line".
struct LineEnd {
  std::string why;
};

class Port {
 public:
  using SteadyTime = std::chrono::steady_clock::time_point;

  static constexpr std::size_t longest_packet = 256;
  static constexpr std::size_t longest_line = 4'096;
  /// So many bytes may wait for a device that does not read.
  static constexpr std::size_t most_unsent = std::size_t{256} << 10;
  /// So many messages may wait for the session; reading then stops until it has taken some.
  static constexpr std::size_t most_waiting = 1'024;

  /// Opens the port, or listens there. Throws Unusable.
  explicit Port(const PortOptions& options);
  ~Port();
  Port(const Port&) = delete;
  Port& operator=(const Port&) = delete;

  /// Where it is, as a person would say it to the other end: "tcp:127.0.0.1:40123".
  [[nodiscard]] std::string text() const;

  /// Waits for the device to connect; at once on a serial port. False when nobody has by then.
  bool wait_for_device(SteadyTime until);

  void send(const Outgoing& message);

  /// The next message, or what is wrong; nothing when none has come by then. Sends meanwhile what waits to be sent.
  std::optional<std::variant<Incoming, Unreadable, LineEnd>> receive(SteadyTime until);

  /// Sends what still waits, for at most so long, and closes.
  void close(std::chrono::milliseconds at_most);

 private:
  class Line;
  std::unique_ptr<Line> line_;
};

}  // namespace drybus::tools
