// Who is wired to whom, and how fast: what never changes in a run.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

#include "sim/frame.h"
#include "sim/time.h"

namespace drybus::sim {

using NodeId = std::uint32_t;
inline constexpr NodeId no_node = 0xffff'ffff;

/// Back-off never doubles more often than this, so that no wait overflows.
inline constexpr std::uint8_t most_doublings = 20;

struct MediumTiming {
  std::int64_t bit_rate = 9600;     ///< bit/s, > 0
  std::int32_t bits_per_byte = 10;  ///< 10 for a start bit, eight data bits and a stop bit
  std::int32_t overhead_bits = 0;   ///< preamble and the like, per frame
  bool sense = true;                ///< listen before sending
  Duration sense_delay{};       ///< a transmission is sensed this long after it begins: the vulnerable window
  Duration gap{};               ///< a sender rests this long between two frames
  Duration backoff_slot = 1ms;  ///< back-off is (1 + r) slots, r uniform in 0 ... 2^min(n, doublings) - 1
  std::uint8_t doublings = 6;   ///< n counts the attempts of one frame; at most `most_doublings`
  std::uint8_t attempts = 16;   ///< then the frame is given up, silently; 0: never
  std::uint8_t outbox_limit = 8;  ///< frames that wait at one sender; 255: no limit

  [[nodiscard]] Duration frame_time(const Frame& frame) const {
    return transmission_time(overhead_bits + std::int64_t{frame.size} * bits_per_byte, bit_rate);
  }
};

enum class MediumKind : std::uint8_t {
  line,   ///< everything electrically connected hears everything
  radio,  ///< a node hears those it has a link with, and no others
};

struct Link {
  NodeId a = no_node;
  NodeId b = no_node;
  friend bool operator==(const Link&, const Link&) = default;
};

/// One medium of a network: its nodes in ascending order and the links between them.
/// A line's links form a tree or a forest; a radio's links are the pairs within range.
struct MediumSpec {
  MediumKind kind = MediumKind::line;
  MediumTiming timing;
  std::vector<NodeId> nodes;
  std::vector<Link> links;
};

/// The whole unchanging network. Build it with `make_network`.
struct Network {
  struct Node {
    std::uint32_t owner = 0;                ///< keys the node's random streams
    std::uint32_t medium = 0;               ///< which of `media`
    NodeId component = 0;                   ///< electrical group while nothing is broken
    bool passive = false;                   ///< a junction: neither sends nor hears
    std::vector<std::uint32_t> links = {};  ///< indices into `links`
  };
  std::vector<Node> nodes;
  std::vector<MediumSpec> media;
  std::vector<Link> links;  ///< of all media, in order
};

/// `owners[i]` keys node i's random streams; `passive[i]` marks junctions. Every node belongs to exactly one
/// medium.
Network make_network(std::vector<MediumSpec> media, std::span<const std::uint32_t> owners,
                     const std::vector<bool>& passive);

enum class LinkState : std::uint8_t { sound, open, shorted, noisy };

enum class Loss : std::uint8_t {
  collision,  ///< another frame overlapped
  noise,      ///< bit errors, or a burst that took the whole frame
  no_path,    ///< an open or shorted link, or out of radio range
  unpowered,  ///< the receiver was off
  cut_short,  ///< the sender lost power while sending
};

}  // namespace drybus::sim
