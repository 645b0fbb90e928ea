// Reads along in what a client sends on its WebSocket, to count what no message tells of: pings, and fragments
// that hold nothing. RFC 6455, section 5.2. Knows no socket and no clock.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>

namespace drybus::tools {

class FrameWatch {
 public:
  struct Passed {
    std::size_t frames_begun = 0;
    std::size_t messages_ended = 0;
  };
  /// Takes in the next bytes; answers what went by in them.
  Passed take(std::span<const unsigned char> bytes);

  /// A frame has begun, or a message of several, and is not over yet.
  [[nodiscard]] bool unfinished() const { return head_size_ > 0 || payload_left_ > 0 || in_fragments_; }

 private:
  [[nodiscard]] std::size_t whole_head() const;
  void head_is_whole();
  [[nodiscard]] bool ends_a_message() const;

  static constexpr std::size_t longest_head = 14;

  std::array<unsigned char, longest_head> head_{};
  std::size_t head_size_ = 0;
  std::uint64_t payload_left_ = 0;
  bool in_fragments_ = false;
};

}  // namespace drybus::tools
