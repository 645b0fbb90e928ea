// Reads a capture of ours back (capture_format.h), also after an analyser has filtered or saved it again.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "model/family/telegram.h"
#include "sim/network.h"
#include "sim/time.h"

namespace drybus::tools {

/// Larger captures are refused unread.
inline constexpr std::size_t max_capture_bytes = std::size_t{64} << 20;

struct CapturedBus {
  std::string name;
  std::uint64_t bit_rate = 0;  ///< bit/s; 0: the file does not say
  friend bool operator==(const CapturedBus&, const CapturedBus&) = default;
};

/// A receiver that missed a telegram.
struct CapturedLoss {
  std::string receiver;
  sim::NodeId node = sim::no_node;
  sim::Loss loss = sim::Loss::collision;
  friend bool operator==(const CapturedLoss&, const CapturedLoss&) = default;
};

struct CapturedTelegram {
  sim::Instant at{};    ///< of the first bit
  std::size_t bus = 0;  ///< index into Capture::buses
  std::string sender;
  sim::NodeId node = sim::no_node;  ///< the sender's
  bool collided = false;
  bool cut_short = false;
  bool unfinished = false;
  sim::Frame frame;
  std::optional<model::Telegram>
      telegram;  ///< nothing when the frame is none of ours or its CRC does not fit
  std::vector<CapturedLoss> lost;
  std::string comment;
};

struct Capture {
  std::vector<CapturedBus> buses;
  std::vector<CapturedTelegram> telegrams;  ///< in the order of the file
};

/// Reads the bytes of a capture. Throws Unusable, with `name` and the byte at which they cease to make sense.
Capture parse_capture(std::string_view name, std::string_view bytes);

/// The same from a file.
Capture read_capture(const std::string& path);

}  // namespace drybus::tools
