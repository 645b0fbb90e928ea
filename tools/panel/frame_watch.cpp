#include "tools/panel/frame_watch.h"

#include <algorithm>

namespace drybus::tools {

namespace {

constexpr unsigned final_bit = 0x80;
constexpr unsigned opcode_bits = 0x0f;
constexpr unsigned first_control_opcode = 0x8;
constexpr unsigned mask_bit = 0x80;
constexpr unsigned length_bits = 0x7f;
constexpr std::size_t shortest_head = 2;
constexpr std::size_t mask_bytes = 4;

/// How many bytes after the first two tell the length.
std::size_t length_bytes(unsigned length) {
  if (length < 126) return 0;
  return length == 126 ? 2 : 8;
}

}  // namespace

FrameWatch::Passed FrameWatch::take(std::span<const unsigned char> bytes) {
  Passed passed;
  while (!bytes.empty()) {
    if (payload_left_ > 0) {
      const auto size = static_cast<std::size_t>(std::min<std::uint64_t>(payload_left_, bytes.size()));
      payload_left_ -= size;
      bytes = bytes.subspan(size);
      if (payload_left_ == 0 && ends_a_message()) ++passed.messages_ended;
      continue;
    }
    if (head_size_ == 0) ++passed.frames_begun;
    head_[head_size_++] = bytes.front();
    bytes = bytes.subspan(1);
    if (head_size_ < shortest_head || head_size_ < whole_head()) continue;
    head_is_whole();
    if (payload_left_ == 0 && ends_a_message()) ++passed.messages_ended;
  }
  return passed;
}

/// Of the frame that was read last: a control frame ends none, also between the fragments of one.
bool FrameWatch::ends_a_message() const {
  return (head_[0] & opcode_bits) < first_control_opcode && (head_[0] & final_bit) != 0;
}

std::size_t FrameWatch::whole_head() const {
  return shortest_head + length_bytes(head_[1] & length_bits) + ((head_[1] & mask_bit) != 0 ? mask_bytes : 0);
}

void FrameWatch::head_is_whole() {
  const unsigned length = head_[1] & length_bits;
  payload_left_ = length < 126 ? length : 0;
  for (std::size_t i = 0; i < length_bytes(length); ++i) {
    payload_left_ = payload_left_ << 8 | head_[shortest_head + i];
  }
  if ((head_[0] & opcode_bits) < first_control_opcode) in_fragments_ = (head_[0] & final_bit) == 0;
  head_size_ = 0;
}

}  // namespace drybus::tools
