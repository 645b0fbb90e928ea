// What a stranger at the panel's port may take: time, memory, attention.
#pragma once

#include <cstddef>

#include "tools/panel/pacer.h"

namespace drybus::tools {

struct Bounds {
  std::size_t most_connections = 512;
  std::size_t most_viewers = 128;

  /// From the first byte that is awaited to the last of the header: nobody needs longer, and nobody holds a
  /// seat longer.
  std::chrono::milliseconds time_for_a_request = std::chrono::seconds{10};
  std::chrono::milliseconds time_for_an_answer = std::chrono::seconds{20};
  /// After the last answer, for the other side to take it and go.
  std::chrono::milliseconds time_to_go = std::chrono::seconds{2};
  /// Requests of one connection.
  double requests_at_once = 200;
  double requests_per_second = 20;

  /// From the first byte of a message on a viewer's line to its last.
  RealTime time_for_a_message = std::chrono::seconds{10};
  /// A line on which nothing comes, not even the answer to a ping, is closed.
  std::chrono::milliseconds longest_silence = std::chrono::seconds{60};

  /// Frames of a viewer's line: messages, and pings and fragments likewise.
  double messages_at_once = 200;
  double messages_per_second = 50;
  unsigned most_not_understood = 20;

  /// Seconds of the server's work for one viewer: what they ask for beyond that is refused, so that the
  /// others, and time itself, go on.
  double work_at_once = 1.0;
  double work_per_second = 0.4;

  /// So much may wait for a slow reader; then news is dropped, and with answers alone beyond it the line is
  /// closed.
  std::size_t most_waiting_bytes = std::size_t{2} << 20;
  /// A reader that takes nothing for so long is gone.
  RealTime longest_write = std::chrono::seconds{20};
};

}  // namespace drybus::tools
